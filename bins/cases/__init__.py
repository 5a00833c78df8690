"""What a neighbour reports, and what is done about it."""
