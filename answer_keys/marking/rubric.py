"""The rubric file: how many marks each step of an exercise carries, and what counts."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Field

from answer_keys.checked_toml import Strict, TomlFile, read_toml, toml_from_text
from answer_keys.errors import Problem, RubricError
from answer_keys.marking.policy import (
    POLICY_TEXT,
    QUESTIONS,
    Clock,
    Counts,
    HandInPolicy,
    Rubric,
)
from answer_keys.method import DEFAULT_METHOD, Step, step_from_text, step_text
from answer_keys.weights import DEFAULT_WEIGHTS, Weights
from workbook.texts import _

STEPS = tuple(Weights.model_fields)
MARKED_STEPS = (*STEPS, QUESTIONS)
"""All steps that marks are given for."""


_USUAL = HandInPolicy()


def _with_a_time(given: object) -> object:
    if not isinstance(given, datetime):
        raise ValueError(_("write a date with a time, as 2026-12-01T18:00:00+01:00"))
    return given


_Deadline = Annotated[
    datetime,
    BeforeValidator(_with_a_time),
    # A time without an offset is one of this machine.
    AfterValidator(lambda deadline: deadline.astimezone(UTC)),
]
_Percent = Annotated[float, Field(ge=0, le=100, strict=True)]


class _HandIns(Strict):
    counts: Counts = _USUAL.counts
    deadline: _Deadline | None = _USUAL.deadline
    late_percent_per_day: _Percent = _USUAL.late_percent_per_day
    late_percent_at_most: _Percent = _USUAL.late_percent_at_most
    clock: Clock = _USUAL.clock


class _Method(Strict):
    steps: tuple[Annotated[Step, BeforeValidator(step_from_text)], ...] = DEFAULT_METHOD


class _RubricFile(Strict):
    rubric: Weights
    hand_ins: _HandIns = _HandIns()
    method: _Method = _Method()


def rubric_text(weights: Weights = DEFAULT_WEIGHTS) -> str:
    """Text of the rubric file of a new class set."""
    lines = "".join(f"{step} = {mark:g}\n" for step, mark in weights)
    return (
        "# Marks of each step of an exercise. Change the numbers as you like; they\n"
        "# need not add up to 100. Grading again under changed numbers adds new marks\n"
        "# to the gradebook and keeps the old ones.\n#\n"
        "# A correction counts only with its cause, and the reading after the repair\n"
        "# only with the right correction: a wrong cause gets the marks of\n"
        "# predictions, choices and findings at most.\n\n"
        f"[rubric]\n{lines}\n{POLICY_TEXT}\n{_method_text()}"
    )


def rubric_file_text(rubric: Rubric) -> str:
    """Text of a rubric file that says all that a rubric does.

    Examples
    --------
    >>> rubric = rubric_from_text(rubric_text())
    >>> rubric_from_text(rubric_file_text(rubric)) == rubric
    True
    """
    policy = rubric.policy
    deadline = policy.deadline
    lines = [
        "# Marks of each step of an exercise.",
        "[rubric]",
        *(f"{step} = {mark:g}" for step, mark in rubric.weights.items()),
        "",
        "# Which of several hand-ins of a student counts, and what a late one loses.",
        "[hand_ins]",
        f'counts = "{policy.counts}"',
        *(() if deadline is None else (f"deadline = {deadline.isoformat()}",)),
        f"late_percent_per_day = {policy.late_percent_per_day:g}",
        f"late_percent_at_most = {policy.late_percent_at_most:g}",
        f'clock = "{policy.clock}"',
        "",
        "# The order in which tests are done here: kind of reading and place.",
        "[method]",
        "steps = [",
        *(f'  "{step_text(step)}",' for step in rubric.method),
        "]",
    ]
    return "\n".join(lines) + "\n"


def _method_text() -> str:
    steps = "".join(f'#   "{step_text(step)}",\n' for step in DEFAULT_METHOD)
    return (
        "# The order in which tests are done here: kind of reading and place. What is\n"
        "# due by it, and tells something, keeps all of that choice's mark. Marks\n"
        "# follow what stands here; the pages of a practice set follow what stood in\n"
        "# the rubric that 'generate --rubric' took.\n"
        f"# [method]\n# steps = [\n{steps}# ]\n"
    )


def read_rubric(path: Path) -> Rubric:
    """Read a rubric file.

    Raises
    ------
    RubricError
        With every fault of the file.
    """
    problems = list[Problem]()
    return _rubric(read_toml(path, problems), problems)


def rubric_from_text(text: str) -> Rubric:
    """Read the text of a rubric; raises as `read_rubric` does.

    Examples
    --------
    >>> rubric_from_text(rubric_text()).total
    100.0
    """
    problems = list[Problem]()
    return _rubric(toml_from_text(Path("rubric.toml"), text, problems), problems)


def _rubric(file: TomlFile | None, problems: list[Problem]) -> Rubric:
    read = file.checked(_RubricFile, problems) if file else None
    if read is None:
        raise RubricError(problems)
    policy = HandInPolicy(**read.hand_ins.model_dump())
    weights = read.rubric.model_dump()
    return Rubric(weights=weights, policy=policy, method=read.method.steps)
