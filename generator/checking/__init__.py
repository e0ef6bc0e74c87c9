"""Whether a class set is sound."""
