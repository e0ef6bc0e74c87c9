"""Marks of each step of an exercise, as a lesson or a class set names them."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from answer_keys.checked_toml import Strict
from workbook.texts import _

_Weight = Annotated[float, Field(ge=0, le=1000, strict=True)]


class Weights(Strict):
    """Marks of each step of an exercise."""

    predictions: _Weight
    choices: _Weight
    findings: _Weight
    cause: _Weight
    correction: _Weight
    verification: _Weight

    @model_validator(mode="after")
    def _check_sum(self) -> Self:
        if not any(self.model_dump().values()):
            raise ValueError(_("every step has 0 marks. Give one of them some."))
        return self


DEFAULT_WEIGHTS = Weights(
    predictions=20,  # each number inside its band, shared equally
    choices=20,  # each test chosen by the minutes it wastes, and when to stop
    findings=20,  # what a sound circuit reads, what the reading shows and proves
    cause=20,  # the fault itself, or one that the readings cannot tell from it
    correction=10,  # the repair that cures it; counts only with the cause
    verification=10,  # the reading after the repair; only with the correction
)
"""Marks of each step where a lesson names none of its own."""
