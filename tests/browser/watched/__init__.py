"""Read by every Python that a server of the tests starts."""
