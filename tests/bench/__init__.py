"""Benchmarks: speed and memory as ratios within one run."""
