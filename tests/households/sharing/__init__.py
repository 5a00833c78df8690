"""Tests of the pure room households.sharing: no database."""
