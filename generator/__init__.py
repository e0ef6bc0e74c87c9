"""Clampbook: exercises in the diagnosis of relay-controlled circuits."""
