"""Questions about a drawn circuit."""
