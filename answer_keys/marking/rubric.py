"""The rubric: how many marks each step of an exercise carries, and what counts."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from answer_keys.checked_toml import Strict, TomlFile, read_toml, toml_from_text
from answer_keys.errors import Problem, RubricError
from answer_keys.marking.policy import POLICY_TEXT, HandInPolicy
from answer_keys.weights import DEFAULT_WEIGHTS, Weights

STEPS = tuple(Weights.model_fields)
QUESTIONS = "questions"
"""The step of an exercise that is no diagnosis; it carries the marks of all steps."""
MARKED_STEPS = (*STEPS, QUESTIONS)
"""All steps that marks are given for."""


class _RubricFile(Strict):
    rubric: Weights
    hand_ins: HandInPolicy = HandInPolicy()


@dataclass(frozen=True, slots=True, kw_only=True)
class Rubric:
    """Marks of each step of an exercise.

    Attributes
    ----------
    weights : mapping of str to float
        One entry for each of `STEPS`.
    policy : HandInPolicy
        Which of several hand-ins counts, and what a late one loses.
    """

    weights: Mapping[str, float] = field(default_factory=DEFAULT_WEIGHTS.model_dump)
    policy: HandInPolicy = field(default_factory=HandInPolicy)

    @property
    def total(self) -> float:
        """Marks of a whole exercise."""
        return math.fsum(self.weights.values())

    @property
    def sha256(self) -> str:
        """Fingerprint of the weights; nothing else of the file changes it."""
        text = json.dumps(dict(self.weights), sort_keys=True)
        return hashlib.sha256(text.encode("ascii")).hexdigest()


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
        f"[rubric]\n{lines}\n{POLICY_TEXT}"
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
    return Rubric(weights=read.rubric.model_dump(), policy=read.hand_ins)
