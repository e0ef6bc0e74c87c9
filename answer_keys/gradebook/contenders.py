"""Which of several hand-ins of a student counts; pure.

A later hand-in goes on from an earlier one: they are one *line*, and the rubric's rule
picks out of it. What is not of that line is another's, or of another computer, or of
work begun again: only the instructor can tell, and until then the line counts that the
gradebook has known longest. What a file says of its own age decides nothing.
"""

from __future__ import annotations

from bisect import bisect
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from answer_keys.gradebook.standings import Standing
from answer_keys.hand_ins.continuation import Heads, Trail, goes_on_from, heads_of
from answer_keys.marking.marked import Known

# In the order in which they go before each other.
_WORKBOOK, _TYPED, _NOTHING = range(3)


# Told apart by what they are and not by what they hold: two files of the same bytes are
# two, and each is accounted for.
@dataclass(slots=True, kw_only=True, eq=False)
class Contender:
    """A graded hand-in of one student, as small as it can be.

    Attributes
    ----------
    notices : tuple of str
        What was found in reading it, and what does not fit together.
    size : int
        Entries.
    trail : dict
        Empty of typed answers.
    modified : datetime.datetime
        Time of its file.
    seen_at : datetime.datetime
        When it was graded first.
    is_elsewhere : bool
        Whether its folder, archive or file names another student, or it is no record
        of the examination's room.
    is_ahead : bool
        Whether it is dated in the future.
    standing : Standing
        Of the student, were it to count.
    """

    name: str
    sha256: str
    notices: tuple[str, ...]
    size: int
    trail: Trail
    modified: datetime
    seen_at: datetime
    is_late: bool
    is_elsewhere: bool
    is_ahead: bool
    standing: Standing

    @property
    def code(self) -> str:
        """Short for it among those of its student."""
        return self.sha256[:12]

    @property
    def heads(self) -> Heads:
        """Where each of its sessions ends."""
        return heads_of(self.trail)

    @property
    def kind(self) -> int:
        """Workbook's work, typed answers or nothing; the least of them counts."""
        return _WORKBOOK if self.trail else _TYPED if self.size else _NOTHING

    def goes_on_from(self, other: Contender) -> bool:
        """Tell whether it holds all that another one does."""
        return goes_on_from(self.trail, other.heads)


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What counts for a student, and why the others do not.

    Attributes
    ----------
    counting : tuple of Contender
        Several count together, where the instructor takes them so.
    among : frozenset of Contender
        What the rule picked from.
    apart : frozenset of Contender
        What waits for the instructor.
    rest : frozenset of Contender
        What gives way without asking.
    is_chosen : bool
        Whether the instructor has chosen.
    is_choice_gone : bool
        Whether nothing is here of what the instructor has chosen.
    gone : Known or None
        What counted before, is here no more, and is in nothing that counts now.
    """

    counting: tuple[Contender, ...]
    among: frozenset[Contender]
    apart: frozenset[Contender]
    rest: frozenset[Contender]
    is_chosen: bool = False
    is_choice_gone: bool = False
    gone: Known | None = None


def decide(
    some: Sequence[Contender],
    counts: str,
    choice: Collection[str] = (),
    gone: Sequence[Known] = (),
) -> Decision:
    """Decide which hand-in of a student counts.

    Parameters
    ----------
    some : sequence of Contender
        In any order.
    counts : {"last", "best", "first"}
    choice : collection of str
        SHA-256 of those that the instructor takes.
    gone : sequence of Known
        What the gradebook has seen of the student and is not here any more.
    """
    # Of typed answers no heads are kept: nothing can be known to hold them.
    gone = [one for one in gone if one.heads]
    # The instructor has the last word, before any rule.
    chosen = _chosen(some, counts, choice, gone)
    if chosen is not None:
        return chosen
    # A workbook's journal goes before what was typed in from paper, and that before an
    # empty file; one in another student's folder counts only where there is nothing
    # else.
    kind = min([one.kind for one in some if not one.is_elsewhere] or [_NOTHING])
    if kind == _NOTHING:
        kind = min(one.kind for one in some)
    own = [one for one in some if one.kind == kind]
    among = frozenset(_among(own, counts, gone))
    counting = _pick(among, counts)
    # What counted once and is held by nothing here was withdrawn, or lost on the way.
    lost = [
        one
        for one in gone
        if one.has_counted
        and kind == _WORKBOOK
        and not goes_on_from(counting.trail, one.heads)
    ]
    return Decision(
        counting=(counting,),
        among=among,
        # One of a better kind than what counts lies where another student is named:
        # that, too, is for the instructor to tell.
        apart=frozenset(one for one in some if one.kind <= kind) - among,
        rest=frozenset(one for one in some if one.kind > kind),
        is_choice_gone=bool(choice),
        gone=max(lost, key=lambda one: one.seen_at, default=None),
    )


def _chosen(
    some: Sequence[Contender],
    counts: str,
    choice: Collection[str],
    gone: Sequence[Known],
) -> Decision | None:
    """Follow the instructor's choice, and what goes on from it since."""
    heads = {one.sha256: one.heads for one in gone}
    among, later_ones = set[Contender](), set[Contender]()
    picked = list[Contender]()
    for sha256 in choice:
        own = [one for one in some if one.sha256 == sha256]
        # Heads of a file that is gone stand in the gradebook: what goes on from it is
        # known.
        before = heads.get(sha256) or (own[0].heads if own else {})
        later = [
            one
            for one in some
            if one.sha256 != sha256
            and not one.is_elsewhere
            and before
            and goes_on_from(one.trail, before)
        ]
        if line := _line([*own, *sorted(later, key=_Trust())]):
            picked.append(_pick(line, counts))
            among |= set(line)
            later_ones |= set(later)
    if not picked:
        return None
    return Decision(
        counting=tuple(_without_parts(picked)),
        among=frozenset(among),
        apart=frozenset(later_ones - among),
        rest=frozenset(some) - among - later_ones,
        is_chosen=True,
    )


def _without_parts(some: Iterable[Contender]) -> list[Contender]:
    """Leave out what another one holds already."""
    kept = list[Contender]()
    for one in sorted(set(some), key=lambda one: (-one.size, one.sha256)):
        if not any(one.trail and other.goes_on_from(one) for other in kept):
            kept.append(one)
    return kept


def _among(
    own: Sequence[Contender], counts: str, gone: Sequence[Known]
) -> list[Contender]:
    """Return what the rule may pick from without asking."""
    trusted = sorted(own, key=_Trust(gone=gone))
    # Only marks can tell which is best, and typed answers have no sessions to go on
    # from.
    if counts != "best" and trusted[0].kind == _WORKBOOK:
        return _line(trusted)
    here = {one.sha256 for one in trusted if not one.is_elsewhere}
    return [one for one in trusted if one.sha256 in here] or trusted


@dataclass(frozen=True, slots=True, kw_only=True)
class _Trust:
    """Order of hand-ins: what fits together and was there first comes first.

    Of what came at once the one with more work does.
    """

    gone: Sequence[Known] = ()

    def __call__(self, one: Contender) -> tuple[Any, ...]:
        # Work is as old as the oldest file that it goes on from, be that file gone:
        # else a newer file in place of the old one would make old work look new.
        earlier = [
            each.seen_at for each in self.gone if goes_on_from(one.trail, each.heads)
        ]
        since = min([one.seen_at, *earlier])
        # The hash comes last, so that the same files give the same order in any folder.
        return (
            one.is_elsewhere,
            since,
            one.is_ahead,
            one.modified,
            -one.size,
            one.sha256,
        )


@dataclass(slots=True)
class _Line:
    """Hand-ins that go on from each other, the smallest first."""

    found: list[Contender] = field(default_factory=list)

    def add(self, one: Contender) -> bool:
        """Take a hand-in; tell whether it belongs here."""
        place = bisect(self.found, one.size, key=lambda each: each.size)
        before, after = self.found[max(place - 1, 0) : place], self.found[place:]
        # Those beyond its neighbours are held by them or hold them.
        is_of_it = all(map(one.goes_on_from, before)) and all(
            each.goes_on_from(one) for each in after[:1]
        )
        if is_of_it:
            self.found.insert(place, one)
        return is_of_it


def _line(trusted: Sequence[Contender]) -> list[Contender]:
    """Gather what goes on from the first hand-in, or what that goes on from.

    What names another student is not of it, unless it is the very same file.
    """
    line, hashes = _Line(), set[str]()
    for one in trusted:
        fits = not one.is_elsewhere or trusted[0].is_elsewhere
        if (fits or one.sha256 in hashes) and line.add(one):
            hashes.add(one.sha256)
    return line.found


def _pick(some: Iterable[Contender], counts: str) -> Contender:
    """Pick one by the rule; of one work, that with more of it is the later."""
    match counts:
        case "best":
            return max(some, key=lambda one: (one.standing.mark, *_more(one)))
        case "first":
            return min(some, key=lambda one: (one.seen_at, *_more(one)))
    # What came late takes nothing from what came in time, however much more it holds.
    return max(some, key=lambda one: (not one.is_late, *_more(one)))


def _more(one: Contender) -> tuple[int, bool, str]:
    # The name decides nothing but that every grading picks the same of two copies.
    return one.size, not one.is_elsewhere, one.name
