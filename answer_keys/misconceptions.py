"""The catalogue of misconceptions: every wrong rule that is known by name.

A number is explained by the rule that gives it, a choice, a finding or a conclusion by
what it shows of the reasoning behind it. Keys, marks, reports and feedback name a
misconception by its id. `misconceptions.toml` holds their texts.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from types import MappingProxyType
from typing import Any, Literal

Kind = Literal["number", "choice", "finding", "conclusion"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Misconception:
    """A wrong rule.

    Attributes
    ----------
    title : str
        What was done, in a few words, for headings and tables.
    explanation : str
        What it is and why it is wrong, as told to the student.
    cure : str
        What to do or to practise.
    formula : str
        How its number comes about, in quantities of the specification sheet; of a
        choice, a finding or a conclusion, how it is recognised.
    """

    id: str
    kind: Kind
    title: str
    explanation: str
    cure: str
    formula: str


def _read() -> dict[str, Misconception]:
    file = resources.files(__package__) / "misconceptions.toml"
    kinds: dict[Any, dict[str, Any]] = tomllib.loads(file.read_text("utf-8"))
    return {
        id_: Misconception(id=id_, kind=kind, **texts)
        for kind, some in kinds.items()
        for id_, texts in some.items()
    }


MISCONCEPTIONS: Mapping[str, Misconception] = MappingProxyType(_read())
