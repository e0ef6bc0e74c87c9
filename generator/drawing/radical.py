"""What decides how hard an exercise is, before its circuit is drawn."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from generator.model.symptoms import Symptom
from lessons.schema import ExerciseKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """How one circuit is built; the plainest by default."""

    fuses: Literal["two", "shared"] = "two"
    drive: Literal["low side", "high side"] = "low side"
    coil_supply: Literal["86", "85"] = "86"
    terminals: Literal[4, 5] = 4
    upstream: Literal["bus bar", "ignition switch", "main relay"] = "bus bar"
    supply: Literal["charging", "battery only"] = "charging"
    overload: Literal["limits", "shuts off"] = "limits"

    @property
    def text(self) -> str:
        """The variant in words."""
        return (
            f"{self.fuses} fuse{'s' if self.fuses == 'two' else ''}, {self.drive} "
            f"driver that {self.overload}, {self.terminals}-terminal relay with supply "
            f"at {self.coil_supply}, fed by a {self.upstream}, {self.supply}"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Radical:
    """What decides how hard an exercise is: lesson, family, variant, fault, complaint.

    Without a ``symptom`` any complaint of the fault will do, and at least so many
    ``causes`` bring it; ``kind`` is what is asked.
    With ``given_tests`` the predictions and so many planned tests are done for the
    student; without, nothing is.
    """

    lesson: str
    family: str
    fault: str
    variant: Variant = field(default_factory=Variant)
    symptom: Symptom | None = None
    causes: int = 0
    kind: ExerciseKind = "diagnosis"
    given_tests: int | None = None
