"""Exercises drawn, checked and written: from lesson and secret to class set."""
