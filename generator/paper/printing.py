"""Pages for paper: HTML by templates, and PDF where the printing library is there."""

from __future__ import annotations

from functools import cache
from importlib import import_module
from typing import TYPE_CHECKING, Any

from answer_keys.keys.wording import letter_of, minutes_text
from answer_keys.reports.pages import filled, new_environment
from generator.pictures.font import FONT_FAMILY, FONT_WEIGHTS, font_data
from workbook.texts import decimal

if TYPE_CHECKING:
    from jinja2 import Environment


def page_text(template: str, **values: Any) -> str:  # noqa: ANN401 - template values
    """Fill a template in the language that is spoken.

    Every value is escaped but pictures, which have escaped what is written on them.
    """
    return filled(_environment(), template, values)


@cache
def can_print() -> bool:
    """Whether the printing library is there, and Pango, which it needs.

    The extra ``print`` installs the library: WeasyPrint.
    """
    try:
        import_module("weasyprint")
    except (ImportError, OSError):
        # Without Pango the library raises OSError as it is imported.
        return False
    return True


def pdf_bytes(page: str) -> bytes:
    """Print a page to PDF; the printing library must be there."""
    from weasyprint import HTML

    return bytes(HTML(string=page).write_pdf())


@cache
def _environment() -> Environment:
    environment = new_environment(
        "generator.paper",
        {
            "decimal": decimal,
            "letter": letter_of,
            "minutes": lambda minutes: decimal(minutes_text(minutes)),
        },
    )
    environment.globals |= {
        "font_family": FONT_FAMILY,
        "font_faces": [(weight, font_data(weight)) for weight in FONT_WEIGHTS],
    }
    return environment
