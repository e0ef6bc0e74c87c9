"""A class graded on this machine, in processes of their own."""
