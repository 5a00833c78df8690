"""The cash list: writing rows down, taking them back, paying back, a second person's look."""
