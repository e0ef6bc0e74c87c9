"""Words that many tests of a handout share: printed once, and a mark at each test."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass

_SENTENCE = re.compile(r"(?<=[.!?]) +(?=[A-ZÄÖÜ])")
_CLAUSE = re.compile("[,;] ")
Entries = list[tuple[str, str]]
"""Pairs of a mark and the text that it stands for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedWords:
    """Texts of one sort, each with its mark.

    Parameters
    ----------
    marks : mapping of str to str
        The mark of each text: ``H3``.
    common : frozenset of str
        Texts of more than one exercise, which stand on the handout's first page.
    """

    marks: Mapping[str, str]
    common: frozenset[str]

    @property
    def first_page(self) -> Entries:
        """What more than one exercise says."""
        return [
            (mark, text) for text, mark in self.marks.items() if text in self.common
        ]

    def own(self, texts: Iterable[str]) -> Entries:
        """Return what one exercise alone says, of its texts."""
        return [
            (self.marks[text], text)
            for text in dict.fromkeys(texts)
            if text not in self.common
        ]


def shared_words(letter: str, exercises: Sequence[Sequence[str]]) -> SharedWords:
    """Number all texts of a handout's exercises; what they share comes first.

    Parameters
    ----------
    letter : str
        What every mark begins with.
    exercises : sequence of sequence of str
        The texts of each exercise's tests.
    """
    counted = Counter(text for texts in exercises for text in dict.fromkeys(texts))
    by_use = sorted(counted, key=lambda text: counted[text] == 1)
    return SharedWords(
        marks={text: f"{letter}{n}" for n, text in enumerate(by_use, start=1)},
        common=frozenset(text for text, times in counted.items() if times > 1),
    )


_OFTEN, _TWICE = 3, 2
"""Tests of a handout that begin alike, or say the same, so that it is worth a mark."""
_SHORTEST = 30
"""Letters of a sentence that is worth a mark."""


def said_again(hows: Iterable[str]) -> frozenset[str]:
    """Return the sentences, and else the first clauses, that many tests say."""
    hows = list(hows)
    said = Counter(each for how in hows for each in sentences(how))
    again = {each for each, n in said.items() if n >= _TWICE and len(each) >= _SHORTEST}
    led = Counter(lead_of(how) for how in hows if sentences(how)[0] not in again)
    leads = {lead for lead, times in led.items() if lead and times >= _OFTEN}
    return frozenset(again | leads)


def marked_in(how: str, again: Container[str]) -> list[str]:
    """Return what has a mark of that which one test says, in its order."""
    first, *others = sentences(how)
    begin = first if first in again else lead_of(how)
    return [each for each in (begin, *others) if each in again]


def lead_of(how: str) -> str:
    """The clause with which a test begins; empty where there is but one.

    Examples
    --------
    >>> lead_of("Output test, meter on volts: plus on 30, minus on 87. Wait.")
    'Output test, meter on volts'
    """
    first = sentences(how)[0]
    lead, mark, _ = first.partition(":")
    clause = _CLAUSE.search(first)
    return lead if mark else first[: clause.start()] if clause else ""


def sentences(text: str) -> list[str]:
    """Take a text apart into its sentences."""
    return _SENTENCE.split(text)
