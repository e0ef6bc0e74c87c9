"""The links of a class as codes to cut out: a phone's camera opens one."""

from __future__ import annotations

from collections.abc import Sequence

import segno

from answer_keys.visible_text import name_text
from generator.paper.printing import page_text
from generator.site.links import Link

# Modules around a code that stay white (ISO/IEC 18004:2015, 6.3.8: four of them).
_QUIET_ZONE = 4


def link_sheet(links: Sequence[Link], title: str) -> str:
    """Write a page with a card a student: name, id, code and address.

    In the language spoken.

    Parameters
    ----------
    title : str
        What the class or the set is called.
    """
    cards = [
        {
            "name": name_text(link.name),
            "id": link.student,
            "address": link.address,
            "code": _code(link.address),
        }
        for link in links
    ]
    return page_text("links.html.j2", title=title, cards=cards)


def _code(address: str) -> str:
    """Draw a QR code as SVG; it stays readable with 15 % of it lost (level M)."""
    code = segno.make(address, error="m", micro=False)
    return code.svg_inline(border=_QUIET_ZONE, omitsize=True)
