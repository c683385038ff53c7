"""Figures: release rows in, one HoloViews element out; the same element types for every choice."""
