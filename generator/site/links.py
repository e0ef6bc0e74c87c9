"""The links of a class: one a student, for the instructor to give out."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlsplit

from answer_keys.interchange.marks_files import guarded
from answer_keys.visible_text import name_text, visible
from generator.errors import SiteError
from workbook.texts import _


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """Where one student opens the workbook: the whole address."""

    student: str
    name: str
    address: str


def links_csv(links: Sequence[Link], separator: str = ",") -> bytes:
    """Write links as a table with the columns id, name and link, for mail merge.

    Whoever has a student's link opens the workbook.

    Parameters
    ----------
    separator : str
        What a spreadsheet takes columns apart at: a comma, or where it writes decimals
        with one, a semicolon.
    """
    text = io.StringIO(newline="")
    table = csv.writer(text, delimiter=separator)
    table.writerow(["id", "name", "link"])
    table.writerows(
        [guarded(link.student), guarded(name_text(link.name)), link.address]
        for link in links
    )
    # The mark at the beginning tells spreadsheets that it is UTF-8.
    return text.getvalue().encode("utf-8-sig")


def site_address(text: str) -> str:
    """Check the address of a site, that every link begins with.

    Examples
    --------
    >>> site_address("https://class.example/week-3/")
    'https://class.example/week-3'

    Raises
    ------
    SiteError
        Where no student could open it, or a browser would keep no answer there.
    """
    try:
        parts = urlsplit(text)
        host = parts.hostname
    except ValueError:
        host = None
    if not host or parts.scheme not in ("http", "https") or parts.fragment:
        raise SiteError(
            _(
                "{text} is no address. Write where the site will be found, as "
                "https://class.example/week-3."
            ).format(text=repr(visible(text)))
        )
    if parts.scheme == "http" and host not in ("localhost", "127.0.0.1", "::1"):
        raise SiteError(
            _(
                "{text}: browsers keep no answers on plain http. Put the site on a "
                "server with https, and write that address."
            ).format(text=visible(text))
        )
    return text.rstrip("/")
