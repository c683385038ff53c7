"""Readings: what each figure says of the release, before anything is drawn."""
