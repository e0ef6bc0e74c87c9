"""Rubric and policy, the marks of each step, one returned file marked."""
