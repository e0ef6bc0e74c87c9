"""Questions about a drawn circuit, for exercises that are no diagnosis."""
