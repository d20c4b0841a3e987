"""fluid."""
