"""What an operator can notice of a circuit, and complain of."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
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


Manner = Literal["moved", "warm", "silent"]
"""What an operator may notice besides: that it comes and goes with shaking or with
warmth, or that of what does nothing nothing can be heard either."""

MANNERS: Mapping[Symptom, tuple[Manner, ...]] = MappingProxyType(
    {"comes and goes": ("moved", "warm"), "does nothing": ("silent",)}
)

# What an operator complains of; the rest is noticed by no one, or later.
COMPLAINTS: tuple[Symptom, ...] = get_args(Symptom)[:-1]
