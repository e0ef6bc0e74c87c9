"""Faults of what the load moves, of its work, and of how it is used."""

from __future__ import annotations

from functools import partial
from operator import attrgetter

import numpy as np

from generator.model import edits
from generator.model.catalogue.fault import Fault

_fault = partial(Fault, side="mechanics")

MECHANICAL_FAULTS = (
    _fault(
        id="mechanism_seized",
        title="The {mechanism} is stuck and does not move",
        repair="free_mechanism",
        prior=1.0,
        edit=edits.set_values(friction_nm=np.inf, work_frac=0.0, mechanism="stuck"),
        kinds=("fan motor", "pump motor", "solenoid valve"),
    ),
    _fault(
        id="mechanism_binding",
        title="The {mechanism} binds and turns heavily",
        repair="free_mechanism",
        prior=1.0,
        edit=edits.bind,
        # Some twice its current: a pump's fuse opens at that, a fan's may hold while it
        # works weakly.
        severity=(1.2, 1.6),
        kinds=("fan motor", "pump motor"),
        # Near what a smart switch shuts off at, a tolerance would decide.
        applies=attrgetter("has_relay"),
    ),
    _fault(
        id="mechanism_drags",
        title="The {mechanism} drags in its bearings",
        repair="free_mechanism",
        prior=0.8,
        edit=edits.drag,
        # About 1.4 times the current: hot and out of its band, and no fuse opens at
        # that.
        severity=(0.5, 0.6),
        kinds=("fan motor", "pump motor"),
    ),
    _fault(
        id="mechanism_free",
        title="The {mechanism} turns free without doing its work",
        repair="free_mechanism",
        prior=0.7,
        edit=edits.let_spin,
        manner=None,
        severity=(0.15, 0.22),
        kinds=("fan motor", "pump motor"),
    ),
    _fault(
        id="air_gap_excessive",
        title="The air gap of the {mechanism} is too wide",
        repair="set_air_gap",
        prior=1.2,
        edit=edits.widen_gap,
        manner=None,
        kinds=("magnetic clutch",),
    ),
    _fault(
        id="work_hindered",
        title="The {load} is sound, but its work is hindered: {hindrance}",
        repair="clear_hindrance",
        prior=1.5,
        edit=edits.hinder,
        severity=(0.45, 0.65),
    ),
    _fault(
        id="nothing_wrong",
        title="Nothing is wrong: an enable input was rightly absent",
        repair="explain_use",
        prior=0.6,
        # Nothing changes, yet `symptoms` counts it as what comes and goes: what is
        # there under stress is another record, though an equal one.
        edit=edits.set_values(),
        is_intermittent=True,
        manner=None,
    ),
)
