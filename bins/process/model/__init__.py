"""The physical model of a batch: what was in it becomes what it will do. Pure; README.md here is its page."""
