"""Benchmarks: speed and memory as ratios within one run."""

import os

# One thread: a ratio then compares work with work, however many cores are free. This
# has to be said before numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
