"""Tests of what serves a class set."""
