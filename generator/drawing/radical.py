"""What decides how hard an exercise is, before its circuit is drawn."""

from __future__ import annotations

from dataclasses import dataclass, field

from generator.model.complaints import Symptom
from generator.model.variant import Variant
from lessons.schema import ExerciseKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Radical:
    """What decides how hard an exercise is: lesson, family, variant, fault, complaint.

    Without a ``symptom`` any complaint of the fault will do, and at least so many
    ``causes`` bring it; without a ``fault`` one of the complaint's causes is drawn when
    all else is. ``kind`` is what is asked.
    With ``given_tests`` the predictions and so many planned tests are done for the
    student; without, nothing is. What is unlisted is found without a list of tests.
    """

    lesson: str
    family: str
    fault: str
    variant: Variant = field(default_factory=Variant)
    symptom: Symptom | None = None
    causes: int = 0
    kind: ExerciseKind = "diagnosis"
    given_tests: int | None = None
    is_unlisted: bool = False
