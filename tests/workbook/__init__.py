"""Tests of what runs on the student's side."""
