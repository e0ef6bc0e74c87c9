"""Which releases a site is built of: all were run together in a browser."""

from __future__ import annotations

__all__ = ["BROWSER", "BUILD", "BUNDLED", "EMPTY", "STARTED"]

# The tools that write the site; they need a Python of their own, since the last two
# disturb a JupyterLab in the same one.
BUILD = (
    "jupyterlite-core==0.8.6",
    "jupyterlite-pyodide-kernel==0.8.6",
    "jupyterlab-widgets==3.0.17",
    "anywidget==0.11.0",
    "pkginfo>=1.12",
)

# The wheels that the browser's Python loads: all pure Python, and complete.
BROWSER = (
    "anywidget==0.11.0",
    "asttokens==3.0.2",
    "comm==0.2.3",
    "decorator==5.3.1",
    "executing==2.3.0",
    "flexcache==0.3",
    "flexparser==0.4",
    "ipython==9.12.0",
    "ipython-pygments-lexers==1.1.1",
    "ipywidgets==8.1.9",
    "matplotlib-inline==0.2.2",
    "micropip==0.11.1",
    "packaging==26.4",
    "pint==0.26.2",
    "platformdirs==4.14.8",
    "prompt-toolkit==3.0.53",
    "psygnal==0.16.1",
    "pure-eval==0.2.4",
    "pygments==2.21.0",
    "stack-data==0.6.3",
    "traitlets==5.16.1",
    "typing-extensions==4.16.0",
    "wcwidth==0.9.4",
)

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
