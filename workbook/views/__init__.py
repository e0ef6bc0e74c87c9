"""What a page shows, as plain data."""
