"""The rubric: how many marks each step of an exercise carries, and what counts."""

from __future__ import annotations

import hashlib
import json
import math
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from types import MappingProxyType
from typing import Any

from answer_keys.errors import RubricError, RubricFault
from answer_keys.marking.policy import HandInPolicy, policy_faults, policy_from_table

STEPS = (
    "predictions",
    "choices",
    "findings",
    "cause",
    "correction",
    "verification",
)
QUESTIONS = "questions"
"""The step of an exercise that is no diagnosis; it carries the marks of all steps."""
MARKED_STEPS = (*STEPS, QUESTIONS)
"""All steps that marks are given for."""
_MAX_WEIGHT = 1000.0
_ALLOWED = f"a number of marks from 0 to {_MAX_WEIGHT:.0f}"


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

    weights: Mapping[str, float]
    policy: HandInPolicy = field(default_factory=HandInPolicy)

    def __post_init__(self) -> None:
        if set(self.weights) != set(STEPS):
            raise ValueError(f"a rubric needs exactly the steps {', '.join(STEPS)}")
        ordered = {step: float(self.weights[step]) for step in STEPS}
        object.__setattr__(self, "weights", MappingProxyType(ordered))

    def __reduce__(self) -> tuple[Any, ...]:
        """Let it go to another process, which a read-only mapping by itself cannot."""
        return _rubric, (dict(self.weights), self.policy)

    @property
    def total(self) -> float:
        """Marks of a whole exercise."""
        return math.fsum(self.weights.values())

    @property
    def sha256(self) -> str:
        """Fingerprint of the weights; nothing else of the file changes it."""
        text = json.dumps(dict(self.weights), sort_keys=True)
        return hashlib.sha256(text.encode("ascii")).hexdigest()


def _rubric(weights: Mapping[str, float], policy: HandInPolicy) -> Rubric:
    return Rubric(weights=weights, policy=policy)


def default_rubric_text() -> str:
    """Give the text of the rubric that a new class set gets."""
    return (resources.files("answer_keys.marking") / "rubric.toml").read_text(
        encoding="utf-8"
    )


def read_rubric(path: Path) -> Rubric:
    """Read a rubric file; raises `RubricError` with every fault of it."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError as error:
        fault = _fault(None, "there is no such file", "a rubric file")
        raise RubricError(str(path), [fault]) from error
    except UnicodeDecodeError as error:
        fault = _fault(None, "the file is not UTF-8 text", "text saved as UTF-8")
        raise RubricError(str(path), [fault]) from error
    return rubric_from_text(text, name=str(path))


def rubric_from_text(text: str, *, name: str = "rubric.toml") -> Rubric:
    """Read the text of a rubric.

    Parameters
    ----------
    text : str
        TOML with a table ``[rubric]``, and ``[hand_ins]`` where one is wanted.
    name : str
        Name of the file, for messages.

    Returns
    -------
    Rubric

    Raises
    ------
    RubricError
        With all faults at once, each with its line and what is allowed.

    Examples
    --------
    >>> rubric_from_text(default_rubric_text()).total
    100.0
    """
    try:
        body = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        where = re.search(r"at line (\d+)", str(error))
        line = int(where[1]) if where else None
        fault = _fault(line, str(error), 'lines like "cause = 15" under [rubric]')
        raise RubricError(name, [fault]) from error
    faults = list(_faults(body, _key_lines(text)))
    if faults:
        raise RubricError(name, faults)
    policy = policy_from_table(body.get("hand_ins", {}))
    return Rubric(weights=body["rubric"], policy=policy)


def _fault(line: int | None, found: str, allowed: str) -> RubricFault:
    return RubricFault(line=line, found=found, allowed=allowed)


def _key_lines(text: str) -> dict[str, int]:
    """Find the line of each key and table: the parser gives no positions."""
    lines: dict[str, int] = {}
    for number, line in enumerate(text.splitlines(), 1):
        match = re.match(r"\s*(?:\[\s*)?[\"']?([\w-]+)[\"']?\s*[=\].]", line)
        if match:
            lines.setdefault(match[1], number)
    return lines


def _faults(body: dict[str, Any], lines: dict[str, int]) -> Iterator[RubricFault]:
    for word in sorted(body.keys() - {"rubric", "hand_ins"}):
        allowed = "the tables [rubric] and [hand_ins]"
        yield _fault(lines.get(word), f"{word!r} is not known", allowed)
    yield from policy_faults(body.get("hand_ins", {}), lines)
    table = body.get("rubric")
    if not isinstance(table, dict):
        yield _fault(lines.get("rubric"), "there is no table [rubric]", "[rubric]")
        return
    steps = ", ".join(STEPS)
    for word in table:
        if word not in STEPS:
            yield _fault(lines.get(word), f"{word!r} is not a step", steps)
    for step in STEPS:
        if step not in table:
            yield _fault(lines.get("rubric"), f"{step!r} is missing", _ALLOWED)
        elif not _is_weight(table[step]):
            yield _fault(lines.get(step), f"{step} = {table[step]!r}", _ALLOWED)
    if all(_is_weight(table.get(step)) and not table[step] for step in STEPS):
        yield _fault(lines.get("rubric"), "every step has 0 marks", "some marks")


def _is_weight(value: object) -> bool:
    return (
        isinstance(value, int | float)
        and not isinstance(value, bool)
        and 0 <= value <= _MAX_WEIGHT
    )
