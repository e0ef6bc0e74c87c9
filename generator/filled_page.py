"""Pages of our own that lie beside the code, filled in the language spoken."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from jinja2 import Environment, StrictUndefined

from workbook.texts import _, language

_PAGES = Environment(autoescape=True, undefined=StrictUndefined)


def filled_page(path: Path, **values: Any) -> str:  # noqa: ANN401 - the page's
    """Fill a page; every value is escaped, and one that is lacking is an error."""
    page = _PAGES.from_string(path.read_text("utf-8"))
    return page.render(_=_, language=language(), **values)
