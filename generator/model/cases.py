"""Circuits set up for tests: the ohms of every branch, and what flows with these.

Whatever is nonlinear stands here as it is set; `settling.py` finds where it goes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

import numpy as np
from numpy.typing import NDArray

from generator.model.circuit import ROWS, Columns
from generator.model.measure import Setup
from generator.model.network import eliminated
from generator.model.topology import AT, TOPOLOGY

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

# Fused test lead and fused jumper with their fuses (common practice, no source).
_LEAD_OHM = 0.010
_JUMPER_OHM = 0.015
# Test lamps: 10 W where the load is fed, 5 W where a driver or a coil's wire carries
# them. Their filaments count as hot; a cooler one only loads a bad joint more. The
# headlights are two filaments of 55 W and the small lamps that burn with them.
_LAMP_W = {
    "lamp_30": 10.0,
    "lamp_86": 5.0,
    "lamp_85": 5.0,
    "lamp_87": 5.0,
    "headlights": 130.0,
}
# While a smart switch is off, its pull-up finds an open load: some tenths of a
# milliampere (common practice, no source).
_PULL_UP_OHM = 1.0e5
# Copper where a variant has no part: the track in a module, a splice of two wires.
_TRACK_OHM = 0.001
# A diode that conducts, at the limit of the driver: 0.7 V at 1 A, and its own ohms.
_FORWARD_OHM = 0.9
_INF = np.inf
# Branches whose resistance is a value of the circuit, and the rows of both.
_PLAIN = {AT[name]: ROWS[f"{name}_ohm"] for name in AT if f"{name}_ohm" in ROWS}
# Cases solved at once: the arrays of more do not stay in a processor's cache.
_AT_ONCE = 4096


@dataclass(slots=True, kw_only=True)
class Cases:
    """A batch of cases on the way to their operating points.

    Attributes
    ----------
    value : array, shape (n_names, n_cases)
        In the order of `ROWS`.
    resistance : array, shape (n_branches, n_cases)
        [Ω]; the contacts as if closed, until they find their state.
    emf : dict of arrays, shape (n_cases,)
        [V], by branch; what is left out has none.
    kinds : tuple of arrays of int
        The cases, those together that are set up alike.
    """

    value: Floats
    resistance: Floats
    emf: dict[int, Floats]
    kinds: tuple[Rows, ...]

    @classmethod
    def of(cls, blocks: Sequence[Floats], states: Sequence[Setup]) -> Cases:
        """Set circuits up, a block of cases in each state."""
        value = np.concatenate(blocks, axis=1)
        sizes = [block.shape[1] for block in blocks]
        return cls(
            value=value,
            resistance=_resistances(value, _Flags(states, sizes)),
            emf={AT["battery"]: value[ROWS["supply_v"]]},
            kinds=_alike(states, sizes),
        )

    def of_name(self, name: str) -> Floats:
        """Value of each case."""
        value: Floats = self.value[ROWS[name]]
        return value

    def at(self, name: str) -> Floats:
        """Resistance of one branch, as a view [Ω]."""
        row: Floats = self.resistance[AT[name]]
        return row

    def solved(self, branches: Sequence[int], rows: Rows | None = None) -> Solved:
        """Solve for branches in some cases, or in all in the order that they have."""
        if rows is None:
            return solved_in_batches(self.resistance, self.emf, branches, self.kinds)
        resistance = self.resistance[:, rows]
        emf = {branch: volts[rows] for branch, volts in self.emf.items()}
        return solved_in_batches(resistance, emf, branches)


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """Voltages of cases, and the currents that follow from them.

    Attributes
    ----------
    conductance : mapping of arrays, shape (n_cases,)
        [S], of the branches that were asked for.
    emf : mapping of arrays, shape (n_cases,)
    voltage : mapping of arrays, shape (n_cases,)
        Of the ends of these branches at least, by number [V].
    """

    conductance: Mapping[int, Floats]
    emf: Mapping[int, Floats]
    voltage: Mapping[int, Floats]

    def current(self, branch: int, rows: Rows | slice = slice(None)) -> Floats:
        """Current of one branch in some cases [A]."""
        start, end = _ENDS[branch]
        across = self.voltage[start][rows] - self.voltage[end][rows]
        if branch in self.emf:
            across += self.emf[branch][rows]
        current: Floats = self.conductance[branch][rows] * across
        return current


# Nodes of each branch.
_ENDS = TOPOLOGY.ends.T.tolist()


def solved_in_batches(
    resistance: Floats,
    emf: Mapping[int, Floats],
    branches: Sequence[int],
    kinds: Iterable[Rows] = (),
    nodes: Iterable[int] = (),
) -> Solved:
    """Solve a batch, where it is large kind by kind: each has branches of its own.

    Found are the ``branches``, and the voltages of these ``nodes`` besides.
    """
    wanted = {*nodes, *(node for branch in branches for node in _ENDS[branch])}
    n_cases = resistance.shape[1]
    if n_cases <= _AT_ONCE:
        voltage = eliminated(TOPOLOGY, resistance, emf).voltages(wanted)
    else:
        voltage = {node: np.empty(n_cases) for node in wanted}
        for rows in kinds or (np.arange(n_cases),):
            for start in range(0, len(rows), _AT_ONCE):
                some = rows[start : start + _AT_ONCE]
                own = {branch: volts[some] for branch, volts in emf.items()}
                found = eliminated(TOPOLOGY, resistance[:, some], own).voltages(wanted)
                for node in wanted:
                    voltage[node][some] = found[node]
    conductance = {branch: 1 / resistance[branch] for branch in branches}
    return Solved(conductance=conductance, emf=emf, voltage=voltage)


def _alike(states: Sequence[Setup], sizes: Sequence[int]) -> tuple[Rows, ...]:
    """The cases of a batch, those together that are set up alike."""
    ends = list(accumulate(sizes, initial=0))
    spans = dict[tuple[object, ...], list[Rows]]()
    for state, (start, end) in zip(states, pairwise(ends), strict=True):
        is_out = state.relay_out or state.jumper
        # What opens or closes branches for all circuits alike: a kind then has few
        # links to eliminate.
        kind = state.jumper, is_out, state.lamp, state.command == "off"
        spans.setdefault(kind, []).append(np.arange(start, end))
    return tuple(np.concatenate(each) for each in spans.values())


class _Flags:
    """How each case is set up, as flags of shape (n_cases,)."""

    def __init__(self, states: Sequence[Setup], sizes: Sequence[int]) -> None:
        self._states, self._sizes = states, sizes

    def __getitem__(self, name: str) -> Flags:
        flags = [getattr(state, name) for state in self._states]
        return np.repeat(np.array(flags, dtype=bool), self._sizes)

    def equal(self, name: str, wanted: object) -> Flags:
        """Whether the setup has this there."""
        flags = [getattr(state, name) == wanted for state in self._states]
        return np.repeat(np.array(flags, dtype=bool), self._sizes)


def resistances(columns: Columns, setups: Sequence[Setup]) -> Floats:
    """Resistance of every branch in some setups, both contacts as if closed [Ω].

    Returns
    -------
    array, shape (n_setups, n_circuits, n_variants, n_branches)
    """
    values = columns.values.reshape(len(columns.values), -1)
    sizes = [values.shape[1]] * len(setups)
    ohm = _resistances(np.tile(values, len(setups)), _Flags(setups, sizes))
    return ohm.T.reshape(len(setups), *columns.values.shape[1:], len(AT))


def _resistances(values: Floats, setup: _Flags) -> Floats:
    """Resistance of every branch of every case, the contacts as if closed."""
    value = {name: values[row] for name, row in ROWS.items()}
    ohm = np.full((len(AT), values.shape[1]), _INF)
    for branch, row in _PLAIN.items():
        ohm[branch] = values[row]
    is_high, is_shared = value["is_high_side"] > 0, value["is_fuse_shared"] > 0
    driver = np.where(_conducts(value, setup), value["driver_ohm"], _INF)
    is_smart = value["is_smart"] > 0
    is_in = ~(setup["jumper"] | setup["relay_out"])
    # A smart switch is a part of its module, and is unplugged with it.
    is_in &= ~(is_smart & setup["module_unplugged"])
    pull_up = np.where(is_smart & is_in, _PULL_UP_OHM, _INF)
    # A diode the right way round blocks in every steady state: only turn-off knows of
    # it.
    beside_coil = np.where(
        value["is_diode_reversed"] > 0, _FORWARD_OHM, value["suppression_ohm"]
    )
    control_fuse = np.where(setup["control_lead"], _LEAD_OHM, value["control_fuse_ohm"])
    load_fuse = np.where(setup["load_lead"], _LEAD_OHM, value["load_fuse_ohm"])
    made = {
        "battery": value["supply_ohm"],
        "control_fuse": np.where(is_shared, _INF, control_fuse),
        "control_tap": np.where(is_shared, _TRACK_OHM, _INF),
        "high_driver": np.where(is_high, driver, _TRACK_OHM),
        "coil": np.where(is_in, value["coil_ohm"], _INF),
        "suppression": np.where(is_in, beside_coil, _INF),
        "low_driver": np.where(is_high, _TRACK_OHM, driver),
        # The holder stays, whether a fuse or a lead is in it.
        "load_fuse": load_fuse + value["fuse_holder_ohm"],
        "contacts": np.where(is_in, value["contacts_ohm"], _INF),
        "break_contact": np.where(is_in, value["break_contact_ohm"], _INF),
        # Past the switch a jumper leads, or terminals that touch in the plug; its own
        # pull-up else, which is nothing beside these.
        "jumper": np.where(
            setup["jumper"], _JUMPER_OHM, np.minimum(value["bridged_ohm"], pull_up)
        ),
    }
    for name, watts in _LAMP_W.items():
        lit = setup.equal("lamp", name)
        if lit.any():
            # A square is a plain product in NumPy, which no processor rounds otherwise.
            made[name] = np.where(lit, value["rated_v"] ** 2 / watts, _INF)
    for name, resistance in made.items():
        ohm[AT[name]] = resistance
    for name, out in _OUT.items():
        is_out = setup[out]
        if is_out.any():
            ohm[AT[name], is_out] = _INF
    return ohm


# What is taken out or unplugged, besides the relay.
_OUT = {
    "control_fuse": "control_fuse_out",
    "load_fuse": "load_fuse_out",
    "load_connector": "load_unplugged",
    "load_ground": "load_unplugged",
    "neighbour": "neighbour_unplugged",
}


def _conducts(value: Mapping[str, Floats], setup: _Flags) -> Flags:
    """Whether the driver conducts: commanded and alive, or stuck on."""
    is_normal = setup.equal("command", "normal") & (value["is_enabled"] > 0)
    commanded = is_normal | setup.equal("command", "output test")
    is_on = (commanded & (value["is_driver_dead"] == 0)) | (value["is_driver_on"] > 0)
    conducts: Flags = is_on & ~setup["module_unplugged"]
    return conducts
