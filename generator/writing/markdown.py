"""Pictures and tables as Markdown, for any notebook."""

from __future__ import annotations

import base64
from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["data_uri", "image_markdown", "table_markdown"]


def image_markdown(svg: str, alt: str) -> str:
    """Show a picture where a workbook that nobody trusts still shows it."""
    return f'<img alt="{escape(alt)}" src="{data_uri(svg)}" width="760">'


def data_uri(svg: str) -> str:
    """Give a picture as the address of an image that needs no file.

    Parameters
    ----------
    svg : str
        SVG text.

    Returns
    -------
    str
        A ``data:`` address in base64.

    Examples
    --------
    >>> data_uri("<svg/>")
    'data:image/svg+xml;base64,PHN2Zy8+'
    """
    encoded = base64.b64encode(svg.encode()).decode("ascii")
    return f"data:image/svg+xml;base64,{encoded}"


def table_markdown(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Write rows under a head as a Markdown table."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join(f"| {' | '.join(_cell(c) for c in line)} |" for line in lines)


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")
