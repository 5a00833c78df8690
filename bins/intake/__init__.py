"""What comes in: drop-offs, buckets, what is taken and what does not belong."""
