"""What a step is worth to a student: statements, plan, feedback, hints, answers."""
