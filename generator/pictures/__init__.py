"""Wiring diagrams and scope screens, as pictures and in words."""
