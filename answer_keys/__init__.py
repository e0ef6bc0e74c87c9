"""Sealed keys, the hand-in reader, marks, the gradebook and reports."""
