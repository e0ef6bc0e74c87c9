"""The static site of a class: shared part, pages, and a link for each student."""
