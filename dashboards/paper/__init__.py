"""Figures on paper: the plots of the rooms drawn as SVG from the same descriptions, without a browser."""
