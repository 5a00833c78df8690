"""Tests of the bins wing."""
