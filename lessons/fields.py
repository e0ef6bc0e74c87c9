"""What fields of lesson and family files may hold, whichever of both they stand in."""

from __future__ import annotations

from typing import Annotated, Any, TypeVar

from pydantic import AfterValidator, Field

from answer_keys.checked_toml import Strict
from generator.model.complaints import Symptom


def ordered(pair: tuple[float, float]) -> tuple[float, float]:
    """Let a range pass that rises."""
    if pair[0] > pair[1]:
        raise ValueError(
            f"the range falls. Write its lower end first, [{pair[1]:g}, {pair[0]:g}]"
        )
    return pair


Text = Annotated[str, Field(min_length=1, max_length=400)]
Texts = Annotated[tuple[Text, ...], Field(min_length=1)]
Slug = Annotated[str, Field(pattern=r"^[a-z][a-z0-9-]{1,39}$")]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Range = Annotated[tuple[Positive, Positive], AfterValidator(ordered)]
Factor = Annotated[float, Field(ge=1, allow_inf_nan=False)]
FactorRange = Annotated[tuple[Factor, Factor], AfterValidator(ordered)]
Share = Annotated[float, Field(gt=0, le=1)]
Fraction = Annotated[float, Field(gt=0, lt=1)]
FractionRange = Annotated[tuple[Fraction, Fraction], AfterValidator(ordered)]
_T = TypeVar("_T")
Choices = Annotated[tuple[_T, ...], Field(min_length=1)]


class ByComplaint(Strict):
    """A table that has something for each complaint."""

    def of(self, symptom: Symptom) -> Any:  # noqa: ANN401 - each table its own kind
        """What the table holds for a complaint: keys of TOML have no blanks."""
        return getattr(self, symptom.replace(" ", "_"))
