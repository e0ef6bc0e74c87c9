"""Clampbook: exercises in the diagnosis of relay-controlled circuits."""

from __future__ import annotations

import os

# Thousands of small systems are solved one after the other: threads of the linear
# algebra library only wait for each other, and cost three times the time. It reads
# this when NumPy is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
