"""Numbers that are read off a screen or a log."""

from __future__ import annotations

from collections.abc import Mapping

from generator.drawing.predictions import plain_number
from generator.drawing.wording import short_text
from generator.questions.question import Option, Question, choice_of, number_of, wrong
from workbook.texts import _, later

MARGIN_FRAC = 0.08
"""How far from it a number that is read off is still right."""

_ALL, _LESS_ONE, _LESS_TWO = later("None"), later("One"), later("Two")
COUNT_SIGNS: Mapping[str, str] = {
    _ALL: later("With all of them the current is what the sheet gives."),
    _LESS_ONE: later("Each takes an equal share: one share less is one of them."),
    _LESS_TWO: later("Each takes an equal share: two shares less are two of them."),
}
"""How many of several equal loads are out, and what the current shows."""


def read_off(
    id_: str,
    texts: tuple[str, str],
    right: tuple[float, str],
    told: str = "",
    rules: Mapping[str, float] | None = None,
    margin_frac: float = MARGIN_FRAC,
) -> Question:
    """Ask for a number that is read off, with what is said to whoever is right.

    Parameters
    ----------
    texts : pair of str
        What is asked, and how it is found.
    right : float, str
        The number, in its unit.
    told : str, optional
        What is said of the number; left out, what it is.
    rules : mapping of str to float, optional
        What wrong rules give.
    margin_frac : float, optional
        How far from it a number is still right.
    """
    # No more digits than anybody reads off a screen.
    value, unit = float(f"{right[0]:.3g}"), right[1]
    label, how = texts
    margin = _("Right is what lies within {percent} %.")
    help_ = f"{how} {margin.format(percent=f'{100 * margin_frac:g}')}"
    reads = _("It is {amount}.").format(amount=short_text(value, unit))
    asked = plain_number(
        id_, (label, help_), (value, unit, margin_frac), told or reads, rules
    )
    return number_of(asked)


def verdict(id_: str, label: str, right: str, signs: Mapping[str, str]) -> Question:
    """Ask which of several things is so.

    Parameters
    ----------
    right : str
        The one that is.
    signs : mapping of str to str
        What each of them would show.
    """
    others: list[Option] = [
        wrong(_(name), _(sign)) for name, sign in signs.items() if name != right
    ]
    return choice_of(id_, label, (_(right), _(signs[right])), others)


def settled(
    id_: str, current_a: float, rules: Mapping[str, float] | None = None
) -> Question:
    """Ask for the current at the end of a screen."""
    return read_off(
        id_,
        (_("Current at the end of the screen"), by_scale()),
        (current_a, "A"),
        rules=rules,
    )


def by_scale() -> str:
    """How a current is read off a screen behind a clamp."""
    return _("Millivolts of the screen divided by the scale.")


def how_many(id_: str, label: str, out: int) -> Question:
    """Ask how many of several equal loads are out: none, one or two."""
    return verdict(id_, label, list(COUNT_SIGNS)[out], COUNT_SIGNS)
