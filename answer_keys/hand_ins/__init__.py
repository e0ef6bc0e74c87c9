"""What comes back from students, read as strict data."""
