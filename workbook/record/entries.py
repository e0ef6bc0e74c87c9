"""What a journal records of a step: one record a kind, on the page and in grading.

A line of a journal holds the fields of such a record, and ``prev``, which chains it to
the line before. What is legal in a line of any kind is told here and nowhere else.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any, Literal

from workbook.record.plain import record_from

HINT_COSTS = (0.2, 0.5, 1.0)
"""Part of a choice's mark that is gone after one, two and three hints for it."""

MAX_NOTE_LENGTH = 1000
"""Characters of a note that a student writes."""

# What can be measured is far inside.
_SMALLEST, _LARGEST = 1e-12, 1e12
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?Z", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A step in one exercise.

    Parameters
    ----------
    kind : str
        What was done.
    exercise : int
        Number of the exercise; 0 in what was done for the student beforehand.
    item : str
        Id of the number, test or question that it is about.
    seq : int
        Place in its journal; 0 while it is not recorded.
    time : str
        UTC time of recording; empty while it is not recorded.
    """

    kind: str
    exercise: int = 0
    item: str
    seq: int = 0
    time: str = ""

    @property
    def moment(self) -> datetime:
        """When it was recorded."""
        return datetime.fromisoformat(self.time)


@dataclass(frozen=True, slots=True, kw_only=True)
class Number(Entry):
    """A number as typed, and its value in its unit.

    Raises
    ------
    ValueError
        Where the value is far outside what can be measured.
    """

    raw: str
    value: float
    unit: str

    def __post_init__(self) -> None:
        """Check the value."""
        if self.value and not _SMALLEST <= abs(self.value) <= _LARGEST:
            raise ValueError("the value is far outside what can be measured")


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction(Number):
    """A number that was predicted before the first test."""

    kind: Literal["prediction"] = "prediction"


@dataclass(frozen=True, slots=True, kw_only=True)
class Verification(Number):
    """A number that was predicted for after the repair."""

    kind: Literal["verification"] = "verification"


@dataclass(frozen=True, slots=True, kw_only=True)
class ChosenTest(Entry):
    """A test that was chosen, with the outcome expected of a sound circuit."""

    kind: Literal["test"] = "test"
    expected: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding(Entry):
    """The outcome that a reading was taken for, and the id of what it proves."""

    kind: Literal["finding"] = "finding"
    outcome: str
    statement: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Conclusion(Entry):
    """The cause and the correction that were concluded."""

    kind: Literal["conclusion"] = "conclusion"
    cause: str
    correction: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Hint(Entry):
    """A hint that was taken for the next choice; practice sets only.

    Raises
    ------
    ValueError
        Where there is no such step.
    """

    kind: Literal["hint"] = "hint"
    item: Literal["choice"] = "choice"
    step: int

    def __post_init__(self) -> None:
        """Check the step."""
        if not 1 <= self.step <= len(HINT_COSTS):
            raise ValueError(f"a hint has step 1 to {len(HINT_COSTS)}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Note(Entry):
    """What a student writes for the student alone: handed in, and never marked.

    It takes the place of the one before.
    """

    kind: Literal["note"] = "note"
    item: Literal["exercise"] = "exercise"
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Restart(Entry):
    """The exercise is done once more from its start; practice sets only."""

    kind: Literal["restart"] = "restart"
    item: Literal["exercise"] = "exercise"


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberAnswer(Number):
    """A number that answers a question."""

    kind: Literal["answer"] = "answer"


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceAnswer(Entry):
    """The id of the option that answers a question."""

    kind: Literal["answer"] = "answer"
    choice: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderAnswer(Entry):
    """The ids of all options, in the order that answers a question."""

    kind: Literal["answer"] = "answer"
    order: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LinesAnswer(Entry):
    """Lines of text that answer a question."""

    kind: Literal["answer"] = "answer"
    lines: tuple[str, ...]


Replied = NumberAnswer | ChoiceAnswer | OrderAnswer | LinesAnswer

# The answer to a question is known by the name of what it holds.
_FORMS: Mapping[str, tuple[type[Entry], ...]] = {
    "prediction": (Prediction,),
    "verification": (Verification,),
    "test": (ChosenTest,),
    "finding": (Finding,),
    "conclusion": (Conclusion,),
    "hint": (Hint,),
    "note": (Note,),
    "restart": (Restart,),
    "answer": (NumberAnswer, ChoiceAnswer, OrderAnswer, LinesAnswer),
}
_NAMES = {
    form: frozenset(each.name for each in fields(form))
    for forms in _FORMS.values()
    for form in forms
}
_COMMON = frozenset(each.name for each in fields(Entry))
OWN_FIELDS: Mapping[str, frozenset[str]] = {
    kind: _NAMES[forms[0]] - _COMMON
    for kind, forms in _FORMS.items()
    if len(forms) == 1
}
"""What each kind of step holds besides what all do; an answer is one of several."""
_OF_LINE = {form: names | {"prev"} for form, names in _NAMES.items()}


def form_of(step: Mapping[str, Any]) -> type[Entry]:
    """Tell which record the fields of a step are of.

    Raises
    ------
    ValueError
        Where they are of none.
    """
    if "kind" not in step:
        raise ValueError("“kind” is missing")
    forms = _FORMS.get(str(step["kind"]), ())
    if len(forms) == 1:
        return forms[0]
    for form in forms:
        if step.keys() >= _NAMES[form] - _COMMON:
            return form
    if forms:
        raise ValueError(
            "an answer holds raw, value and unit, or choice, or order, or lines"
        )
    raise ValueError(f"“kind” is {step['kind']!r}, which is not known here")


def form_of_line(line: Mapping[str, Any]) -> type[Entry]:
    """Tell which record a line of a journal holds, where it holds just that.

    Raises
    ------
    ValueError
        Where a field is lacking or too many, or the time is none.
    """
    form = form_of(line)
    names = _OF_LINE[form]
    if line.keys() != names:
        for name in sorted(line.keys() - names):
            raise ValueError(f"“{name}” does not belong there")
        lacking = min(names - line.keys())
        raise ValueError(f"“{lacking}” is missing")
    if not isinstance(line["prev"], str):
        raise ValueError("“prev” must be a text")
    if not _is_time(line["time"]):
        raise ValueError("“time”: write it in UTC, as in 2026-11-25T07:40:01.5Z")
    return form


def _is_time(text: object) -> bool:
    """Tell whether a text is a UTC time as we write it."""
    if not (isinstance(text, str) and _TIME.fullmatch(text)):
        return False
    try:
        datetime.fromisoformat(text)
    except ValueError:
        return False
    return True


def step_from(fields: Mapping[str, Any]) -> Entry:
    """Build an entry from the fields of a step, recorded or not.

    Raises
    ------
    KeyError, TypeError, ValueError
        Where they are not those of a step.

    Examples
    --------
    >>> step_from({"kind": "test", "item": "t1", "expected": "none"}).item
    't1'
    """
    return record_from(form_of(fields), fields)


def entry_from_line(line: Mapping[str, Any]) -> Entry:
    """Build an entry from what a line of a journal holds, and nothing else.

    Raises
    ------
    TypeError, ValueError
        Where it is no such line.
    """
    return record_from(form_of_line(line), line)


def in_order(entries: Iterable[tuple[str, Entry]]) -> list[Entry]:
    """Sort entries of several sessions as they were recorded.

    Parameters
    ----------
    entries : iterable of (session, Entry)
    """
    # Two sessions may record at the same moment: then by session, so that files in any
    # order give the same.
    by_time = sorted(entries, key=lambda each: (each[1].moment, each[0], each[1].seq))
    return [entry for _, entry in by_time]
