"""What a student sets up where readings are given one by one; no answers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from answer_keys.keys.offered import (
    Offer,
    OfferedCause,
    OfferedExercise,
    OfferedTest,
)
from workbook.measuring.judged import Split, split_of
from workbook.measuring.offered import display_text, proofs_of, words_on_offer
from workbook.measuring.proofs import Proof
from workbook.measuring.set_up import set_up_of
from workbook.measuring.texts import range_text, title_of
from workbook.record.bench import Bench, is_code
from workbook.record.circuit import Section
from workbook.record.readings import Reading
from workbook.record.set_up import AUTO
from workbook.texts import language

_OPEN = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class _Measured:
    """A set-up as the circuits of an exercise answer it."""

    bench: Bench
    split: Split
    proofs: tuple[Proof, ...]


def with_set_up(offered: OfferedExercise, item: str) -> OfferedExercise:
    """Put a set-up among what an exercise offers, if an item is one.

    Raises
    ------
    workbook.errors.RefusedError
        Where it is a code that this circuit does not know.
    """
    if not is_code(item) or offered.bench is None:
        return offered
    measured = _measured(offered, item)
    set_up = set_up_of(item, measured.bench)
    own = OfferedTest(
        id=item,
        title=title_of(set_up, measured.bench),
        # Its page has no circuits, and offers every word that there could be.
        outcomes=words_on_offer(set_up),
        statements=tuple(Offer(id=each.id) for each in measured.proofs),
    )
    return replace(offered, tests=(*offered.tests, own))


def reading_of_set_up(offered: OfferedExercise, code: str) -> Reading:
    """What the instrument shows, and the statements of what that could prove."""
    measured = _measured(offered, code)
    set_up = set_up_of(code, measured.bench)
    is_chosen = set_up.range != AUTO
    return Reading(
        display=display_text(set_up, measured.split),
        range=range_text(set_up.instrument, set_up.range) if is_chosen else "",
        statements=tuple(each.said for each in measured.proofs),
    )


def _measured(offered: OfferedExercise, code: str) -> _Measured:
    bench = offered.bench
    if bench is None:
        raise ValueError("nothing can be set up in this exercise")
    faults = offered.reasoning.faults
    return _answered(bench, code, offered.sections, faults, language())


@lru_cache(maxsize=_OPEN)
def _answered(
    bench: Bench,
    code: str,
    sections: tuple[Section, ...],
    faults: tuple[OfferedCause, ...],
    # Only for the cache: statements are in the language that is spoken.
    _spoken: str,
) -> _Measured:
    split = split_of(bench, code)
    proofs = proofs_of(bench, sections, [each.sections for each in faults], split)
    return _Measured(bench=bench, split=split, proofs=proofs)
