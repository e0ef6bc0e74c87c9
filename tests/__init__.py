"""Tests. They start many processes, which need not all compile the same modules.

What one has compiled is kept for the others, also on a machine that is set to keep none
of it.
"""

import os
import sys

os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False
