"""What is stored of an exercise: journal, progress, and the data of its page."""
