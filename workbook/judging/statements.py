"""Statements of what readings prove: judged along a student's path, and as a picture.

The form and the grading use this one judgement and this one fold.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from workbook.record.circuit import Statement

State = Literal["cleared", "suspect", "not told yet"]
Verdict = Literal["right", "follows", "repeated", "true", "accuses", "wrong"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stated:
    """One finding of a path.

    Parameters
    ----------
    said : Statement
        What the student stated.
    right : Statement
        What the reading proves.
    found : str
        Id of the statement that the outcome which the student found would prove;
        empty where no cause gives that outcome.
    open : frozenset of str
        Sections in which the fault may still lie after the real readings.
    """

    said: Statement
    right: Statement
    found: str
    open: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What a statement is worth.

    Parameters
    ----------
    verdict : str
        ``right``: what the reading proves. ``follows``: what the outcome that was
        found would prove, so that the mistake is in the outcome. ``repeated``: an
        earlier mistake again, and else what the reading proves. ``true``: it makes no
        new mistake, but is not what the reading proves. ``accuses``: it suspects
        nothing but what this very reading clears. ``wrong``: it clears sections in
        which the fault may still lie.
    wrongly : frozenset of str
        Those sections, without any cleared wrongly before.
    clears, of : int
        How many of the sections that the reading clears the statement clears, too.
    """

    verdict: Verdict
    wrongly: frozenset[str] = frozenset()
    clears: int = 0
    of: int = 0

    @property
    def worth(self) -> float:
        """What it earns of its mark, or takes off what others earn where it is below 0.

        A true one that says less earns up to half, by how much of what the reading
        clears it names: that nothing can be told is free, and earns nothing where
        something can. So neither chance nor a habit pays, and honest doubt costs
        nothing.
        """
        if self.verdict == "true":
            return _AT_MOST * self.clears / self.of if self.of else 0.0
        return _WORTH[self.verdict]


_WORTH: Mapping[Verdict, float] = MappingProxyType(
    {"right": 1.0, "follows": 1.0, "repeated": 0.5, "accuses": -0.5, "wrong": -0.5}
)
_AT_MOST = 0.5

_RIGHT, _FOLLOWS = Judged(verdict="right"), Judged(verdict="follows")
_REPEATED, _ACCUSES = Judged(verdict="repeated"), Judged(verdict="accuses")


def worths(judged: Sequence[Judged]) -> list[float]:
    """Share of its mark that each statement of an exercise keeps, from 0 to 1.

    What the wrong ones take is taken off what the others earn, evenly, and never more.

    Examples
    --------
    >>> worths([Judged(verdict="right"), Judged(verdict="wrong")])
    [0.5, 0.0]
    """
    earned = [max(0.0, each.worth) for each in judged]
    total = math.fsum(earned)
    lost = total - math.fsum(each.worth for each in judged)
    kept = max(0.0, 1 - lost / total) if total else 0.0
    return [share * kept for share in earned]


def judge_statements(path: Iterable[Stated]) -> Iterator[Judged]:
    """Judge the statements of a path, a mistake only where it is first made.

    A section that an earlier statement has cleared wrongly is set aside in all later
    ones, as long as it is really open.
    """
    aside: frozenset[str] = frozenset()
    for step in path:
        yield _judged(step, aside & step.open)
        aside |= step.open.intersection(step.said.cleared)


def _judged(step: Stated, aside: frozenset[str]) -> Judged:
    said, right = frozenset(step.said.cleared), frozenset(step.right.cleared)
    if step.said.id == step.right.id:
        return _RIGHT
    # Before what it clears is looked at: it may clear wrongly too, but the mistake is
    # in the outcome, and is marked there.
    if step.said.id == step.found:
        return _FOLLOWS
    if step.said.suspect and right.issuperset(step.said.suspect):
        return _ACCUSES
    if wrongly := said & step.open - aside:
        return Judged(verdict="wrong", wrongly=wrongly)
    if said - aside == right:
        return _REPEATED
    return Judged(verdict="true", clears=len(said & right), of=len(right))


def listed(labels: Iterable[str], word: str) -> str:
    """List names, with a word before the last.

    Examples
    --------
    >>> listed(["the fuse", "the wire", "the coil"], "or")
    'the fuse, the wire or the coil'
    """
    *most, last = labels
    return f"{', '.join(most)} {word} {last}" if most else last


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedCircuit:
    """The circuit as a student has stated it.

    Parameters
    ----------
    states : dict of str to str
        By section.
    is_contradicted : bool
        Whether the last statement suspects nothing but what was cleared before.
    """

    states: Mapping[str, State]
    is_contradicted: bool = False


def circuit_as_stated(
    sections: Iterable[str], stated: Iterable[Statement]
) -> StatedCircuit:
    """Fold statements, in order, into a picture of the circuit.

    What is cleared stays cleared, until a statement leaves no other section for the
    fault: then what it suspects is suspect again.

    Examples
    --------
    >>> circuit_as_stated(["fuse", "wire"], []).states
    {'fuse': 'not told yet', 'wire': 'not told yet'}
    """
    now = StatedCircuit(states=dict.fromkeys(sections, "not told yet"))
    for claim in stated:
        now = _after(now, claim)
    return now


def _after(before: StatedCircuit, claim: Statement) -> StatedCircuit:
    left = [s for s in claim.suspect if before.states[s] != "cleared"]
    suspect: dict[str, State] = dict.fromkeys(left or claim.suspect, "suspect")
    cleared: dict[str, State] = dict.fromkeys(claim.cleared, "cleared")
    return StatedCircuit(
        states={**before.states, **cleared, **suspect},
        is_contradicted=bool(claim.suspect) and not left,
    )
