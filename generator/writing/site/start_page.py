"""The start page of a site, in the language of its class set."""

from __future__ import annotations

from pathlib import Path

from jinja2 import Environment, StrictUndefined

from workbook.texts import _, language, speaking

__all__ = ["start_page"]

_PAGE = Path(__file__).parent / "pages" / "index.html"


def start_page(spoken: str) -> str:
    """Write the page as HTML.

    Parameters
    ----------
    spoken : str
        One of `workbook.texts.LANGUAGES`.
    """
    pages = Environment(autoescape=True, undefined=StrictUndefined)
    template = pages.from_string(_PAGE.read_text("utf-8"))
    with speaking(spoken):
        return template.render(language=language(), _=_)
