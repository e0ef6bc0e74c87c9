"""A class set on disk: a roster in, a folder out, and read again."""
