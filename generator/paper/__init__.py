"""Handouts, reading slips and the teacher's guide, printed."""
