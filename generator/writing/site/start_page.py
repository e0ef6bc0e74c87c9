"""The start page of a site, in the language of its class set."""

from __future__ import annotations

from pathlib import Path

from jinja2 import Environment, StrictUndefined

from workbook.page_texts import NOT_KEPT
from workbook.texts import _, language, later, speaking

__all__ = ["SCRIPT_TEXTS", "start_page"]

_PAGE = Path(__file__).parent / "pages" / "index.html"

SCRIPT_TEXTS = (
    later("A code has 32 letters and digits, as it stands in your link."),
    later("Opening …"),
    later("There is no workbook with this code here. Look at your link again."),
    later("Your link is filled in: press the button."),
    later("This browser is too old: it cannot run Python (no WebAssembly)."),
    later("This browser keeps what you do, and finds it again."),
    later(
        "Nothing is kept here, because {reason}. Ask your instructor. You can look at "
        "your workbook, but what you do in it would be lost when you close it: "
        "download your hand-in first."
    ),
    later(
        "The storage of this browser is nearly full: answers may not be recorded. Free "
        "some room, or download your hand-in often."
    ),
    later(
        "This looks like a private (incognito) window. It forgets your answers when "
        "you close it: use a normal window, or download your hand-in before you close "
        "it."
    ),
)
"""What start.js and keeping.js say, besides the reasons for which nothing is kept."""


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
        texts = {text: _(text) for text in (*SCRIPT_TEXTS, *NOT_KEPT)}
        return template.render(language=language(), texts=texts, _=_)
