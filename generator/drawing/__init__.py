"""A lesson and a secret become an exercise: circuit, fault, tests and proof."""
