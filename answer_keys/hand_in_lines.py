"""What each line of a hand-in may hold, and nothing else."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal, Self

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    StringConstraints,
    model_validator,
)

from answer_keys.limits import (
    LARGEST,
    MAX_ANSWER_ITEMS,
    MAX_ID_LENGTH,
    MAX_RAW_LENGTH,
    SMALLEST,
)
from answer_keys.visible_text import has_hidden_signs, visible
from workbook.progress import HINT_COSTS, MAX_LINE_LENGTH

__all__ = [
    "Answered",
    "Chosen",
    "Concluded",
    "Entry",
    "Finding",
    "HandInHeader",
    "Hinted",
    "JournalHeader",
    "Replied",
]


def _plain(text: str) -> str:
    if has_hidden_signs(text):
        raise ValueError("holds control or hidden characters")
    return text


def _time(text: str) -> str:
    datetime.fromisoformat(text)
    return text


def _size(value: float) -> float:
    if value and not SMALLEST <= abs(value) <= LARGEST:
        raise ValueError("is far outside what can be measured")
    return value


Name = Annotated[
    str,
    StringConstraints(min_length=1, max_length=MAX_ID_LENGTH),
    AfterValidator(_plain),
]
Raw = Annotated[
    str, StringConstraints(max_length=MAX_RAW_LENGTH), AfterValidator(visible)
]
Time = Annotated[
    str,
    StringConstraints(
        pattern=r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?Z$", max_length=27
    ),
    AfterValidator(_time),
]
Value = Annotated[float, AfterValidator(_size)]


def _line(text: str) -> str:
    return visible(text, limit=MAX_LINE_LENGTH)


Line = Annotated[
    str, StringConstraints(max_length=MAX_LINE_LENGTH), AfterValidator(_line)
]
Items = Annotated[list[Name], Field(min_length=1, max_length=MAX_ANSWER_ITEMS)]
Lines = Annotated[list[Line], Field(min_length=1, max_length=MAX_ANSWER_ITEMS)]


class _Strict(BaseModel):
    model_config = ConfigDict(
        extra="forbid", strict=True, frozen=True, allow_inf_nan=False
    )


class _Header(_Strict):
    """Whose work of which class set follows."""

    format: Literal[1]
    set_id: Name
    student: Name
    edition: int
    software: Name


class HandInHeader(_Header):
    """First line of a hand-in."""

    kind: Literal["hand-in"]
    mode: Literal["practice", "graded"]


class JournalHeader(_Header):
    """First line of a journal in a hand-in."""

    kind: Literal["journal"]
    session: Name


class _Recorded(_Strict):
    seq: int
    time: Time
    exercise: int
    item: Name
    prev: Name


class Answered(_Recorded):
    """A number that was written down: a prediction or the verification."""

    kind: Literal["prediction", "verification"]
    raw: Raw
    value: Value
    unit: Name


class Chosen(_Recorded):
    """A test that was chosen, with the outcome of a sound circuit."""

    kind: Literal["test"]
    expected: Name


class Finding(_Recorded):
    """The outcome that a reading was taken for, and what it was said to prove."""

    kind: Literal["finding"]
    outcome: Name
    statement: Name


class Concluded(_Recorded):
    """The cause and the correction that were concluded."""

    kind: Literal["conclusion"]
    cause: Name
    correction: Name


class Hinted(_Recorded):
    """A hint that was taken for the next choice; practice sets only."""

    kind: Literal["hint"]
    item: Literal["choice"]
    step: Annotated[int, Field(ge=1, le=len(HINT_COSTS))]


_FORMS = ({"raw", "value", "unit"}, {"choice"}, {"order"}, {"lines"})


class Replied(_Recorded):
    """An answer to a question: a number, a choice, an order or lines of text."""

    kind: Literal["answer"]
    raw: Raw | None = None
    value: Value | None = None
    unit: Name | None = None
    choice: Name | None = None
    order: Items | None = None
    lines: Lines | None = None

    @model_validator(mode="after")
    def _check_form(self) -> Self:
        own = type(self).model_fields.keys() - _Recorded.model_fields.keys() - {"kind"}
        given = {name for name in own if getattr(self, name) is not None}
        if given not in _FORMS:
            raise ValueError(
                "an answer holds raw, value and unit, or choice, or order, or lines"
            )
        return self


Entry = Answered | Chosen | Finding | Concluded | Hinted | Replied
