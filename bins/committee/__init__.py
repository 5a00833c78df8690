"""What the committee decides, and what waits for its word."""
