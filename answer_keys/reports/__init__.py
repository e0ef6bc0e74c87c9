"""Figures, the class report, sheets for students, what to practise next."""
