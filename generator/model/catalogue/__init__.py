"""What can be wrong and what can be done: faults, repairs and tests, as data."""
