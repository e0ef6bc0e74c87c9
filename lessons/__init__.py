"""What is taught: lessons, invented component families and their loader."""
