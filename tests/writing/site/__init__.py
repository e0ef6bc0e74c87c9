"""Tests of the static site that need no browser."""
