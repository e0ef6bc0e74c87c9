"""Pages for paper: HTML by templates, and PDF where the printing library is there."""

from __future__ import annotations

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from answer_keys.wording import minutes_text
from generator.writing.markdown import data_uri
from workbook.cautions import CAUTIONS

__all__ = ["page_text", "pdf_bytes"]


def page_text(template: str, **values: Any) -> str:  # noqa: ANN401 - template values
    """Fill a template; every value is escaped."""
    return _environment().get_template(template).render(cautions=CAUTIONS, **values)


def pdf_bytes(page: str) -> bytes | None:
    """Print a page to PDF; None where the printing library is missing.

    The extra ``print`` installs it: WeasyPrint, which needs Pango on the machine.
    """
    try:
        from weasyprint import HTML
    except (ImportError, OSError):
        # Without Pango the library raises OSError as it is imported.
        return None
    return bytes(HTML(string=page).write_pdf())


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("generator.writing"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters |= {"minutes": minutes_text, "data_uri": data_uri}
    return environment
