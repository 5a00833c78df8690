"""A building's first hour: the block, its drums, what is in them, what they carry."""
