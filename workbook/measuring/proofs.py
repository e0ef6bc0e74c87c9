"""Statements of what a reading proves: their words, their order, which ones there are.

A statement says which sections of the circuit a reading clears, and which are still
suspect. What each outcome would prove by itself follows from the causes that show it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from typing import TypeVar

from workbook.judging.statements import listed
from workbook.record.circuit import Section, Statement
from workbook.texts import _, language

MOST = 6
"""Statements of one test, at most, unless its outcomes prove more."""

# Sections of a circuit from which on one that is left out is named instead of the rest.
_ENOUGH = 3


@dataclass(frozen=True, kw_only=True)
class Proof(Statement):
    """Something that a reading could prove.

    ``cleared`` and ``suspect`` are ids of sections, together all of them; both are
    empty where nothing can be told yet. ``outcomes`` are the words that prove it.
    ``id`` and ``text`` come with its place among the others: `numbered` gives them.
    """

    id: str = ""
    text: str = ""
    outcomes: tuple[str, ...] = ()

    @property
    def said(self) -> Statement:
        """What a student gets of it: not what proves it."""
        own = {each.name: getattr(self, each.name) for each in fields(Statement)}
        return Statement(**own)


_P = TypeVar("_P", bound=Proof)


def proved_words(
    sections: Sequence[Section],
    places: Sequence[Collection[str]],
    column: Sequence[str],
) -> Mapping[tuple[str, ...], tuple[str, ...]]:
    """What each outcome clears by itself; outcomes that clear the same are one.

    Parameters
    ----------
    places : sequence of collection of str, length n_causes
        Ids of the sections in which each cause lies.
    column : sequence of str, length n_causes
        What a test shows under each.
    """
    proved: dict[tuple[str, ...], tuple[str, ...]] = {}
    for word in dict.fromkeys(column):
        fits = [at for at, shown in zip(places, column, strict=True) if shown == word]
        # One cause may lie in several sections: each of them stays suspect.
        suspect = frozenset[str]().union(*fits)
        cleared = tuple(s.id for s in sections if s.id not in suspect)
        proved[cleared] = (*proved.get(cleared, ()), word)
    return proved


def suspect_of(
    sections: Sequence[Section], cleared: Collection[str]
) -> tuple[str, ...]:
    """Ids of the sections that are not cleared; none where nothing can be told."""
    return tuple(s.id for s in sections if s.id not in cleared) if cleared else ()


# Tests of one exercise prove much the same.
@lru_cache(maxsize=256)
def _text(
    sections: tuple[Section, ...],
    cleared: tuple[str, ...],
    suspect: tuple[str, ...],
    spoken: str,  # noqa: ARG001 - what is kept is of one language
) -> str:
    """Say what is cleared or what is suspect, whichever is shorter.

    Of one section alone it is said that the fault lies there: that is what was found.
    """
    if not cleared:
        return _("Nothing can be told from this reading yet")
    lies = _("The fault lies in {sections}; all else is cleared")
    clears = _("This clears {sections}; all else is still suspect")
    found = lies.format(sections=_listed(sections, suspect, _("or")))
    if len(suspect) == 1:
        return found
    return min(
        found, clears.format(sections=_listed(sections, cleared, _("and"))), key=len
    )


def _listed(sections: Sequence[Section], ids: Collection[str], word: str) -> str:
    the = _("the {section}")
    return listed([the.format(section=name) for name in _named(sections, ids)], word)


def _named(sections: Sequence[Section], ids: Collection[str]) -> list[str]:
    """Names of sections, a circuit by its own name where nearly all of it is named."""
    names = []
    for branch in dict.fromkeys(section.branch for section in sections):
        own = [section for section in sections if section.branch == branch]
        among = [section.label for section in own if section.id in ids]
        others = [section.label for section in own if section.id not in ids]
        # Neither circuit is named by what both share, nor by one section of two.
        if branch == "both circuits" or len(others) > 1 or len(own) < _ENOUGH:
            names += among
        elif others:
            but = _("{circuit} (not the {section})")
            names.append(but.format(circuit=_(branch), section=others[0]))
        else:
            names.append(_(branch))
    return names


def numbered(statements: Iterable[_P], sections: Sequence[Section]) -> tuple[_P, ...]:
    """Leave out what is said already, sort along the path, number and put in words."""
    # What outcomes prove comes before what misconceptions say: no cut at the end, and
    # no statement with the same words, takes a right one away.
    distinct: dict[tuple[str, ...], _P] = {}
    for statement in statements:
        distinct.setdefault(statement.cleared, statement)
    place = {section.id: number for number, section in enumerate(sections)}
    # By what they suspect, so that no place in the list tells which of them is right.
    ordered = sorted(
        _at_most(distinct.values()),
        key=lambda one: (not one.cleared, [place[id_] for id_ in one.suspect]),
    )
    path, spoken = tuple(sections), language()
    return tuple(
        replace(
            one, id=f"s{number}", text=_text(path, one.cleared, one.suspect, spoken)
        )
        for number, one in enumerate(ordered, start=1)
    )


def _at_most(statements: Collection[_P]) -> list[_P]:
    """Cut off what misconceptions say but the first, and nothing that can be right."""
    said = [one for one in statements if one.outcomes or not one.cleared]
    rules = [one for one in statements if one not in said]
    return said + rules[: max(1, MOST - len(said))]
