"""Measure anywhere: any set-up of a circuit, what it reads, what it is worth."""
