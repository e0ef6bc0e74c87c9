"""The desk: an instructor's week with a class on one local page, without a terminal."""
