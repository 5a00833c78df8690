"""A building's own log sheets, read and brought in."""
