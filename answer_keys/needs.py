"""What a class should practise in its next set."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """What somebody should practise.

    Attributes
    ----------
    faults : tuple of str
        Planted faults that were not found or lost marks, the weakest first.
    kinds : tuple of str
        Kinds of questions for skills that are not mastered, the weakest first.
    known : tuple of str
        Planted faults that went well, to come again now and then.
    """

    faults: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    known: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs:
    """What a class should practise after a set.

    Attributes
    ----------
    after : str
        Id of that set; empty where there was none.
    students : mapping of str to Need
        Only students whose work was graded.
    whole : Need
        Of the class, for graded sets and for students without work.
    history : mapping
        The last tries by student and skill.
    """

    after: str = ""
    students: Mapping[str, Need] = field(default_factory=dict)
    whole: Need = Need()
    history: Mapping[str, Mapping[str, tuple[bool, ...]]] = field(default_factory=dict)

    def of(self, student: str) -> Need:
        """Return what a student should practise."""
        return self.students.get(student, self.whole)
