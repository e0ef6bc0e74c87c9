"""What became of each class of a plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from generator.classes.figures import Figures
from generator.classes.plan import PlannedClass

Drawn = Literal["written", "there", "failed", "left out"]
Graded = Literal["graded", "as before", "no hand-ins", "failed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What became of a class.

    Attributes
    ----------
    graded : str or None
        None where there is no set.
    fault : str
        Why something failed, or the class was left out.
    figures : Figures or None
        Of the last grading.
    """

    planned: PlannedClass
    drawn: Drawn
    graded: Graded | None = None
    fault: str = ""
    figures: Figures | None = None

    @property
    def has_failed(self) -> bool:
        """Whether something is to be mended and done again."""
        return "failed" in (self.drawn, self.graded)
