"""Tests of the ground floor."""
