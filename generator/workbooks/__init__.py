"""An exercise becomes what its page and its key hold, and a notebook."""
