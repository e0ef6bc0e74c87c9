"""Whom the path of a returned file names: its folders and archives, and itself.

Students hand in through a platform or in person, and what a file says inside is only
what it says. A name is taken for a sign where all of it stands there in whole words;
anything less is none, and where the student is named as well, nobody else is.
"""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

# Shorter ones turn up in dates, numbers of uploads, and words that are no id.
_LEAST_MIXED, _LEAST_DIGITS, _LEAST_LETTERS = 3, 5, 4
# Shorter parts of names, as "de" or "le", stand in too many files by chance.
_LEAST_NAME = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """A part of a path that names somebody else.

    Attributes
    ----------
    part : str
        Folder, archive or file.
    student : str
        Id of the one who is named.
    """

    part: str
    student: str


def words_of(text: str) -> list[str]:
    """Part a text into words, without case, accents and what stands between.

    Examples
    --------
    >>> words_of("Étienne_O'Hara-2.zip")
    ['etienne', 'o', 'hara', '2', 'zip']
    """
    plain = unicodedata.normalize("NFKD", text).casefold()
    kept = "".join(each for each in plain if not unicodedata.combining(each))
    return re.findall(r"[^\W_]+", kept)


class Senders:
    """The students of a roster, to be found in paths.

    Parameters
    ----------
    roster : mapping of str to str
        Names by id.
    """

    def __init__(self, roster: Mapping[str, str]) -> None:
        self._ids = {id_: words_of(id_) for id_ in roster}
        self._names = {id_: frozenset(words_of(name)) for id_, name in roster.items()}
        self._by_word: defaultdict[str, set[str]] = defaultdict(set)
        for id_, own in self._ids.items():
            # Looked up by one word of each: which one is all the same, since all have
            # to be there.
            for word in own[:1] if _is_sign("".join(own)) else ():
                self._by_word[word].add(id_)
        for id_, words in self._names.items():
            if len("".join(words)) >= _LEAST_NAME:
                self._by_word[min(words)].add(id_)

    def other_than(self, student: str, path: str) -> Sign | None:
        """Find the first part of a path that names another student, and not this one.

        Examples
        --------
        >>> senders = Senders({"s01": "Mira Aldeen", "s02": "Jonas Ferrant"})
        >>> senders.other_than("s01", "week 3/FERRANT, Jonas_881/hand-in-s01.jsonl")
        Sign(part='FERRANT, Jonas_881', student='s02')
        >>> senders.other_than("s01", "Aldeen and Ferrant/hand-in-s01.jsonl")
        """
        for part in path.split("/"):
            words = words_of(part)
            if self._is_named(student, words):
                continue
            for other in sorted(self._named(words)):
                if not self._may_be(student, other, words):
                    return Sign(part=part, student=other)
        return None

    def _is_named(self, student: str, words: list[str]) -> bool:
        own = self._names.get(student, frozenset())
        has_name = bool(own) and own <= set(words)
        return has_name or _stands_in(self._ids.get(student, []), words)

    def _may_be(self, student: str, other: str, words: list[str]) -> bool:
        """Whether a part names the student beside another one, be it by half a name."""
        own, others = self._names.get(student, frozenset()), self._names[other]
        half = {word for word in own - others if len(word) >= _LEAST_NAME}
        is_within_own = bool(others) and others <= own
        return is_within_own or bool(half & set(words))

    def _named(self, words: list[str]) -> Iterator[str]:
        there = set(words)
        near = set().union(*(self._by_word.get(word, ()) for word in there))
        for id_ in near:
            own = self._ids[id_]
            has_id = _is_sign("".join(own)) and _stands_in(own, words)
            if has_id or (self._names[id_] and self._names[id_] <= there):
                yield id_


def _is_sign(id_: str) -> bool:
    """Whether an id, as one word, is unlikely to stand in a path by chance."""
    if id_.isdigit():
        return len(id_) >= _LEAST_DIGITS
    has_digit = any(each.isdigit() for each in id_)
    return len(id_) >= (_LEAST_MIXED if has_digit else _LEAST_LETTERS)


def _stands_in(phrase: list[str], words: list[str]) -> bool:
    return bool(phrase) and f" {' '.join(phrase)} " in f" {' '.join(words)} "
