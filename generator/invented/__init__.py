"""Invented students: how they think, what they do, what they hand in."""
