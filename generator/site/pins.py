"""Which releases a site is built of: all were run together in a browser.

To take others, change the versions here and in ``pinned``, and run ``python -m
tests.pins``, which finds the hashes.
"""

from __future__ import annotations

from pathlib import Path

_PINNED = Path(__file__).parent / "pinned"

# The tools that write the site, and what they load. They need a Python of their own,
# since some disturb a JupyterLab in the same one. All are pure Python, so that one hash
# stands for every platform.
BUILD = _PINNED / "build.txt"

# The wheels that the browser's Python loads: all pure Python, and complete.
BROWSER = _PINNED / "browser.txt"

# The browser's Python as npm packs it, in the release that its kernel was made for, the
# integrity of the package, and the version of that Python.
CORE = (
    "pyodide@314.0.6",
    "sha512-BKDTJyIqFxC4BExLqeRS3f5xvXZIjOt8C3zGLN/Cc7tFxSwvKVhVkchQQ2AGLOtR4YrVOIFxbV8p"
    "oyDOOmWwxQ==",
)
CORE_PYTHON = "3.14"

# Wheels that come with the browser's kernel, by the beginning of their names.
BUNDLED = ("ipykernel-", "piplite-", "pyodide_kernel-", "widgetsnbextension-4")

# A package that the kernel asks for, but only to complete code that is typed: an empty
# one does.
EMPTY = "jedi"

# What the kernel loads before it is ready, by the names in the lock; the rest follows
# from what these need.
STARTED = (
    "anywidget",
    "clampbook-workbook",
    "comm",
    "ipykernel",
    "ipython",
    "ipywidgets",
    EMPTY,
    "micropip",
    "pint",
    "piplite",
    "pyodide-kernel",
)
