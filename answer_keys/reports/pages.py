"""Pages for the instructor and for students: offline HTML without active content.

Nothing of a student is ever rendered as HTML: every value is escaped by the template
engine, and the page forbids scripts and anything from outside.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from answer_keys.keys.wording import minutes_text
from answer_keys.visible_text import name_text
from workbook.cautions import CAUTIONS
from workbook.no_break import keep_units
from workbook.texts import _, decimal, language, ngettext

_PART = 100_000  # characters


def written_page(template: str, **values: Any) -> str:  # noqa: ANN401 # template values
    """Fill a template in the language spoken; the same values give the same text."""
    return filled(_environment(), template, values)


def page_parts(template: str, **values: Any) -> Iterator[str]:  # noqa: ANN401 # as above
    """Fill a template as `written_page` does, some of its lines after the other."""
    lines, size = list[str](), 0
    for text in _environment().get_template(template).generate(**_own(), **values):
        lines.append(text)
        size += len(text)
        # A number and its unit stand in one line.
        if size > _PART and text.endswith("\n"):
            yield keep_units("".join(lines))
            lines, size = [], 0
    yield keep_units("".join(lines))


@cache
def _environment() -> Environment:
    """Build the template engine once: it keeps the compiled templates."""
    return new_environment(
        "answer_keys.reports",
        {
            "minutes": minutes_text,
            "day": _day,
            "person": name_text,
            "number": lambda mark: decimal(f"{mark:.1f}".removesuffix(".0")),
            "whole": lambda share: f"{share:.0f}",
            "signed": _signed,
            "two": lambda value: decimal(f"{value:.2f}".replace("-", "−")),
        },
    )


def _day(when: datetime) -> str:
    return f"{when:%d.%m.%Y}" if language() == "de" else f"{when:%Y-%m-%d}"


def _signed(value: float) -> str:
    """A difference with its sign, and nought without one."""
    text = f"{value:+.1f}"
    return decimal("0" if float(text) == 0 else text.replace("-", "−"))


def filled(pages: Environment, template: str, values: Mapping[str, Any]) -> str:
    """Fill a template of an engine, with what every page of ours has."""
    return keep_units(pages.get_template(template).render(**_own(), **values))


def _own() -> dict[str, object]:
    cautions = [_(caution) for caution in CAUTIONS]
    return {"_": _, "ngettext": ngettext, "language": language(), "cautions": cautions}


def new_environment(
    package: str, filters: Mapping[str, Callable[[Any], object]]
) -> Environment:
    """Build an engine for the templates of a package, which escapes every value."""
    environment = Environment(
        loader=PackageLoader(package),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters |= filters
    return environment
