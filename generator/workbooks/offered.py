"""Which causes and corrections are offered, under codes: on the page and in the key."""

from __future__ import annotations

from generator.drawing.exercise import Exercise
from generator.model.catalogue.faults import FAULTS


def codes_of(exercise: Exercise) -> dict[str, str]:
    """Codes of causes and corrections on the page, by fault and by repair.

    They number what is offered in the order of the catalogue, so that they say
    nothing of the answer.
    """
    repairs = repairs_offered(exercise)
    causes = {f.id: f"c{n:02}" for n, f in enumerate(exercise.candidates, start=1)}
    return causes | {r: f"r{n:02}" for n, r in enumerate(repairs, start=1)}


def repairs_offered(exercise: Exercise) -> tuple[str, ...]:
    """Repairs on offer, in the order of the catalogue."""
    offered = {fault.repair for fault in exercise.candidates}
    return tuple(
        dict.fromkeys(f.repair for f in FAULTS.values() if f.repair in offered)
    )
