"""Text in lines that fit a terminal."""

from __future__ import annotations

import textwrap


def wrapped(text: str, width: int) -> str:
    """Wrap the lines of a text; names of files and commands are never broken.

    Examples
    --------
    >>> print(wrapped("  for-instructor/typed-answers.csv was written", 24))
      for-instructor/typed-answers.csv
      was written
    """
    lines = []
    for line in text.split("\n"):
        indent = line[: len(line) - len(line.lstrip())]
        lines += textwrap.wrap(
            line.lstrip(),
            width,
            initial_indent=indent,
            subsequent_indent=indent,
            break_long_words=False,
            break_on_hyphens=False,
        ) or [""]
    return "\n".join(lines)
