"""What an operator can notice of a circuit, and complain of."""

from __future__ import annotations

from typing import Literal, get_args

Symptom = Literal[
    "does nothing",
    "works weakly",
    "never stops",
    "comes and goes",
    "runs hot",
    "upsets the module",
    "none",
]


# What an operator complains of; the rest is noticed by no one, or later.
COMPLAINTS: tuple[Symptom, ...] = get_args(Symptom)[:-1]
