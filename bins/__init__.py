"""Drums, places, batches, drop-offs, visits, and what is decided about them."""
