"""Browns for a pail, the correction of a batch, and what a pail holds."""
