"""Mark again what something else than grading has changed in a gradebook.

Grading notes a fingerprint beside all marks. It shows what a slip, another program or a
failing disk has done to them; whoever means to deceive can change both.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.gradebook.standings import Standing, new_standing, with_overrides
from answer_keys.marking.marked import Source
from answer_keys.marking.marker import Marker
from answer_keys.marking.marks import total_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Mended:
    """A hand-in that was marked again, by its file's name."""

    sha256: str
    student: str
    name: str


def mark_again(
    gradebook: Gradebook, marker: Marker, source: Source
) -> tuple[Mended, ...]:
    """Mark each hand-in whose newest marks were changed from its journal.

    The new marks are recorded after the changed ones, which stay to be looked at. A
    hand-in whose journal cannot be marked is left as it is, and reports refuse it.
    """
    mended = []
    for sha256 in gradebook.changed(marker.key.set_id):
        work = marker.marked_again(gradebook.work(sha256))
        if work is not None:
            gradebook.record([work], source, datetime.now(UTC))
            mended.append(Mended(sha256=sha256, student=work.student, name=work.name))
    return tuple(mended)


def standings_again(
    gradebook: Gradebook,
    marker: Marker,
    again: Sequence[Mended],
    students: frozenset[str],
) -> Iterator[Standing]:
    """Return the standings of students whose counted hand-in was marked again.

    Only of those who have no returned file any more: of the others, what lies there
    decides.
    """
    set_id, policy = marker.key.set_id, marker.rubric.policy
    by_hand = gradebook.overrides(set_id)
    mended = {one.sha256 for one in again}
    for held in gradebook.standings(set_id) if mended else ():
        if held.hand_in_sha256 not in mended or held.student in students:
            continue
        work = gradebook.work(held.hand_in_sha256)
        own = with_overrides(work.exercises, by_hand.get(held.student, ()))
        yield new_standing(
            held.student,
            work.sha256,
            total_of(own),
            counts=policy.counts,
            late=policy.late(work.received_at),
        )
