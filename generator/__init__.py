"""Clampbook: exercises in the diagnosis of relay-controlled circuits."""

from __future__ import annotations

import gc
import os
import sys

# Thousands of small systems are solved one after the other: threads of the linear
# algebra library only wait for each other, and cost three times the time. It reads
# this when NumPy is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# What checks notebooks would build forty parsers of web addresses as it is imported,
# for three seconds, where Jupyter has brought this package; no notebook is checked for
# an address. It does without where the package passes for one that is not installed.
sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]

# Drawing makes millions of small records that end without help, since nothing in them
# goes round in circles: to look for circles as often as Python does by itself takes a
# sixth of the time.
gc.set_threshold(50_000, 20, 50)
