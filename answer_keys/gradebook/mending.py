"""Mark again what something else than grading has changed in a gradebook.

Grading notes a fingerprint beside all marks. It shows what a slip, another program or a
failing disk has done to them; whoever means to deceive can change both.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime

from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.gradebook.standings import Standing, new_standing, with_overrides
from answer_keys.marking.marked import MarkedWork, Source
from answer_keys.marking.marker import Marker
from answer_keys.marking.marks import total_of


def mark_again(
    gradebook: Gradebook, marker: Marker, source: Source
) -> tuple[MarkedWork, ...]:
    """Mark each hand-in whose newest marks were changed from its journal.

    The new marks are recorded after the changed ones, which stay to be looked at. A
    hand-in whose journal cannot be marked is left as it is, and reports refuse it.
    """
    changed = gradebook.changed(marker.key.set_id)
    again = [work for one in changed if (work := marker.marked_again(one)) is not None]
    if again:
        gradebook.record(again, source, datetime.now(UTC))
    return tuple(again)


def standings_again(
    gradebook: Gradebook,
    marker: Marker,
    again: Sequence[MarkedWork],
    students: frozenset[str],
) -> Iterator[Standing]:
    """Return the standings of students whose counted hand-in was marked again.

    Only of those who have no returned file any more: of the others, what lies there
    decides.
    """
    set_id, policy = marker.key.set_id, marker.rubric.policy
    by_hand = gradebook.overrides(set_id)
    works = {work.sha256: work for work in again}
    for held in gradebook.standings(set_id):
        work = works.get(held.hand_in_sha256)
        if work is None or held.student in students:
            continue
        own = with_overrides(work.exercises, by_hand.get(held.student, ()))
        yield new_standing(
            held.student,
            work.sha256,
            total_of(own),
            counts=policy.counts,
            late=policy.late(work.received_at),
        )
