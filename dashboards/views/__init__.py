"""Views: one part of a room each, showing a reading; widgets and page only, no rules."""
