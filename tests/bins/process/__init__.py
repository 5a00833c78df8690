"""Tests of the pure room bins.process: no database."""
