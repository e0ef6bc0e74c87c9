"""Every grading kept, which of them counts, and what a class has."""
