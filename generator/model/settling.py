"""How circuits settle: drivers, contacts, motors and filaments find their states.

Everything nonlinear is put at its operating point in a few linear solves of the whole
batch, so that each settled case is a linear network that any program can check.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, update_wrapper
from itertools import accumulate, pairwise
from typing import Generic, ParamSpec, TypeVar

import numpy as np
from numpy.typing import NDArray

from generator.model import parts
from generator.model.circuit import ROWS, Columns
from generator.model.islands import apart, closed_patterns
from generator.model.measure import Setup
from generator.model.network import voltages_of
from generator.model.topology import (
    AT,
    ENDS,
    METER_OHM,
    METERS_FROM,
    PROBES,
    TOPOLOGY,
    Settled,
)

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]
Span = tuple[int, int]
_Given = ParamSpec("_Given")
_Result = TypeVar("_Result")
_Error = TypeVar("_Error", bound=Exception)

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
# Copper where a variant has no part: the track in a module, a splice of two wires.
_TRACK_OHM = 0.001
# A diode that conducts, at the limit of the driver: 0.7 V at 1 A, and its own ohms.
_FORWARD_OHM = 0.9
# All that comes new with a new relay; the inductance of its coil follows from these.
_RELAY = [
    ROWS[name]
    for name in (
        "coil_ohm",
        "suppression_ohm",
        "is_diode_reversed",
        "pull_in_a",
        "contacts_ohm",
        "is_welded",
    )
]
_INF = np.inf
# Branches whose resistance is a value of the circuit, and the rows of both.
_PLAIN = {AT[name]: ROWS[f"{name}_ohm"] for name in AT if f"{name}_ohm" in ROWS}
OPERATING = (
    "supply_v",
    "pull_in_a",
    "driver_limit_a",
    "rated_v",
    "load_rated_a",
    "load_ohm",
    "hot_frac",
    "lamp_exponent",
    "duty_frac",
    "motor_constant_vs",
    "fan_nms2",
    "friction_nm",
    "is_welded",
    "is_high_side",
    "does_driver_shut_off",
)
"""Values that decide at which point a circuit works, beside its resistances."""
# Cases solved at once: the arrays of more do not stay in a processor's cache.
_AT_ONCE = 4096


@dataclass(frozen=True, slots=True, kw_only=True)
class Unsettled:
    """Circuits in setups, whose operating points are to be found.

    Attributes
    ----------
    columns : Columns, shape (n_circuits, n_variants)
        Values of the circuits, as from ``columns_of``; every resistance is above 0.
    sound : Columns that broadcast to the same shape
        Values of the sound circuit, for parts that a setup replaces.
    setups : sequence of Setup, length n_setups
    stressed : Columns or None
        Values of the circuits while the harness is wiggled and warm; None as they are.
    """

    columns: Columns
    sound: Columns
    setups: Sequence[Setup]
    stressed: Columns | None = None

    @property
    def shape(self) -> tuple[int, int]:
        """Circuits and variants."""
        n_circuits, n_variants = self.columns.values.shape[1:]
        return n_circuits, n_variants

    def values(self, state: Setup) -> Floats:
        """Values in a state, shape (n_names, n_cases)."""
        # Without a stressed circuit of its own the calm one is what is wiggled, too.
        moved = self.stressed if state.is_stressed else None
        values = (moved or self.columns).values
        if state.alone and self.stressed:
            values, rows = values.copy(), [ROWS[name] for name in state.alone]
            values[rows] = self.stressed.values[rows]
        if state.new_relay:
            # All setups share these columns, and only this one has a new relay.
            values = values.copy()
            values[_RELAY] = self.sound.values[_RELAY]
        return values.reshape(len(values), -1)


Steps = Generator[Unsettled, Settled, _Result]
"""Work that asks for what is to be settled, and goes on when it is."""


class InSteps(Generic[_Given, _Result]):
    """A function that works in ``steps``; called, it takes them by itself."""

    def __init__(self, steps: Callable[_Given, Steps[_Result]]) -> None:
        self.steps = steps
        update_wrapper(self, steps)

    def __call__(self, *args: _Given.args, **kwargs: _Given.kwargs) -> _Result:
        """Take all steps, each in a batch of its own."""
        steps = self.steps(*args, **kwargs)
        try:
            asked = next(steps)
            while True:
                asked = steps.send(settle_all([asked])[0])
        except StopIteration as done:
            result: _Result = done.value
            return result


def together(
    works: Sequence[Steps[_Result]], kept: type[_Error]
) -> list[_Result | _Error]:
    """Do several works, each step of all of them in one batch.

    Parameters
    ----------
    kept : type
        Errors that end the one work alone, and stand for its result.
    """
    results = dict[int, _Result | _Error]()
    asked = dict[int, Unsettled]()

    def go_on(number: int, settled: Settled | None) -> None:
        try:
            # A generator is started by sending it None, which its type does not tell.
            asked[number] = works[number].send(settled)  # type: ignore[arg-type]
        except StopIteration as done:
            results[number] = done.value
        except kept as error:
            results[number] = error

    for number in range(len(works)):
        go_on(number, None)
    while asked:
        # While answers are handed out, the next questions are put into ``asked`` again.
        now = dict(asked)
        asked.clear()
        for number, settled in zip(now, settle_all(list(now.values())), strict=True):
            go_on(number, settled)
    return [results[number] for number in range(len(works))]


def settle(
    columns: Columns,
    sound: Columns,
    setups: Sequence[Setup],
    stressed: Columns | None = None,
) -> Settled:
    """Find the operating points of every circuit in every setup, as `settle_all` does.

    Returns
    -------
    Settled
        Arrays of shape (n_circuits, n_setups, n_variants, ...).
    """
    one = Unsettled(columns=columns, sound=sound, setups=setups, stressed=stressed)
    return settle_all([one])[0]


def settle_all(asked: Sequence[Unsettled]) -> list[Settled]:
    """Find the operating points of many circuits, each in setups of its own.

    What is found of one does not hang on the others, to the last digit.
    """
    # A voltmeter moves no state: each state is found once for all its probes.
    states = list(
        dict.fromkeys(
            (number, _unprobed(setup))
            for number, one in enumerate(asked)
            for setup in one.setups
        )
    )
    blocks = [asked[number].values(state) for number, state in states]
    ends = accumulate((block.shape[1] for block in blocks), initial=0)
    spans = dict(zip(states, pairwise(ends), strict=True))
    cases = _Cases.of(blocks, [state for _, state in states])
    coil_frac = _find_states(cases)
    wanted = [
        (spans[number, _unprobed(setup)], setup.probe)
        for number, one in enumerate(asked)
        for setup in one.setups
    ]
    whole = _measured(cases, coil_frac, wanted)
    return list(_taken_apart(whole, asked))


@lru_cache(maxsize=1024)
def _unprobed(setup: Setup) -> Setup:
    return replace(setup, probe=None)


def _taken_apart(whole: Settled, asked: Sequence[Unsettled]) -> Iterator[Settled]:
    """Give each one's own of all that was settled at once."""
    start = 0
    for one in asked:
        n_circuits, n_variants = one.shape
        shape = (len(one.setups), n_circuits, n_variants)
        end = start + len(one.setups) * n_circuits * n_variants
        yield whole.part(slice(start, end), shape)
        start = end


@dataclass(slots=True, kw_only=True)
class _Cases:
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
    def of(cls, blocks: Sequence[Floats], states: Sequence[Setup]) -> _Cases:
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

    def solved(self, rows: Rows | None = None) -> _Solved:
        """Solve some cases, or all of them in the order that they have."""
        if rows is None:
            return _solved(self.resistance, self.emf, self.kinds)
        resistance = self.resistance[:, rows]
        emf = {branch: volts[rows] for branch, volts in self.emf.items()}
        return _solved(resistance, emf)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Solved:
    """Voltages of cases, and the currents that follow from them.

    Attributes
    ----------
    conductance : array, shape (n_branches, n_cases)
    emf : mapping of arrays, shape (n_cases,)
    voltage, floats : arrays, shape (n_nodes, n_cases)
    """

    conductance: Floats
    emf: Mapping[int, Floats]
    voltage: Floats
    floats: Flags

    def current(self, branch: int, rows: Rows | slice = slice(None)) -> Floats:
        """Current of one branch in some cases [A]."""
        start, end = TOPOLOGY.ends[:, branch]
        across = self.voltage[start, rows] - self.voltage[end, rows]
        if branch in self.emf:
            across += self.emf[branch][rows]
        current: Floats = self.conductance[branch, rows] * across
        return current


def _solved(
    resistance: Floats, emf: Mapping[int, Floats], kinds: Iterable[Rows] = ()
) -> _Solved:
    """Solve a batch, where it is large kind by kind: each has branches of its own."""
    conductance, n_cases = 1 / resistance, resistance.shape[1]
    if n_cases <= _AT_ONCE:
        voltage, floats = voltages_of(TOPOLOGY, conductance, emf)
    else:
        voltage = np.empty((len(TOPOLOGY.nodes), n_cases))
        floats = np.empty(voltage.shape, dtype=bool)
        for rows in kinds or (np.arange(n_cases),):
            for start in range(0, len(rows), _AT_ONCE):
                some = rows[start : start + _AT_ONCE]
                own = {branch: volts[some] for branch, volts in emf.items()}
                voltage[:, some], floats[:, some] = voltages_of(
                    TOPOLOGY, conductance[:, some], own
                )
    return _Solved(conductance=conductance, emf=emf, voltage=voltage, floats=floats)


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
    is_in = ~(setup["jumper"] | setup["relay_out"])
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
        # Past the switch a jumper leads, or terminals that touch in the plug.
        "jumper": np.where(setup["jumper"], _JUMPER_OHM, value["bridged_ohm"]),
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


def _find_states(cases: _Cases) -> Floats:
    """Let the driver, the contacts and the load of each case find their state.

    Returns
    -------
    array, shape (n_cases,)
        Coil current over the pull-in current; of a smart switch as of `_shut_off`.
    """
    # Each case begins with the load off, so that pull-in alone decides: what holds at a
    # lower current, drop-out, was never reached before. The load that starts then lets
    # the supply sag, but far less than from pull-in down to drop-out.
    pull_in, is_welded = cases.of_name("pull_in_a"), cases.of_name("is_welded") > 0
    made, rest = cases.at("contacts").copy(), cases.at("break_contact").copy()
    cases.at("contacts")[:] = np.where(is_welded, made, _INF)
    cases.at("break_contact")[:] = _INF
    idle = cases.solved()
    coil_a = idle.current(AT["coil"])
    # Drivers carry the coil's current alone: they find their state before contacts do.
    limited = _limit_drivers(cases, idle)
    if len(limited):
        coil_a[limited] = cases.solved(limited).current(AT["coil"])
    is_smart = cases.of_name("is_smart") > 0
    # Without a relay the command itself closes the path.
    conducts = np.where(is_smart, _is_driven(cases), coil_a >= pull_in)
    pulls = is_welded | conducts
    cases.at("contacts")[:] = np.where(pulls, made, _INF)
    # A contact of its own: what is burnt at that to 87 is not at this one.
    cases.at("break_contact")[:] = np.where(pulls, _INF, rest)
    _work_loads(cases)
    return _shut_off(cases, np.flatnonzero(is_smart), np.asarray(coil_a / pull_in))


def _is_driven(cases: _Cases) -> Flags:
    """Whether the driver conducts, which of a smart switch is its command."""
    driven: Flags = np.isfinite(cases.at("low_driver"))
    return driven


def _shut_off(cases: _Cases, smart: Rows, coil_frac: Floats) -> Floats:
    """Open the switches that sense too much, and tell how near each is to that.

    Returns
    -------
    array, shape (n_cases,)
        As given, of a smart switch the current it senses over what it shuts off at.
    """
    if not len(smart):
        return coil_frac
    contacts, load = AT["contacts"], AT["load"]
    sensed = cases.solved(smart).current(contacts) * cases.of_name("sense_frac")[smart]
    coil_frac[smart] = sensed / cases.of_name("shut_off_a")[smart]
    # One that is shorted cannot open.
    can_open = cases.of_name("is_welded")[smart] == 0
    over = smart[can_open & (coil_frac[smart] > 1)]
    cases.resistance[contacts, over] = _INF
    # What feeds the load was this switch alone: it stands, and is cold again.
    cases.resistance[load, over] = cases.of_name("load_ohm")[over]
    if load in cases.emf:
        cases.emf[load][over] = 0.0
    return coil_frac


def _measured(
    cases: _Cases, coil_frac: Floats, wanted: Sequence[tuple[Span, str | None]]
) -> Settled:
    """Put each setup's voltmeter to its place, and solve what is linear now.

    Parameters
    ----------
    coil_frac : array, shape (n_cases,)
    wanted : sequence of pair of (start, end) and str or None
        The cases of a setup, and its probe.
    """
    rows = np.concatenate([np.arange(*span) for span, _ in wanted])
    resistance = cases.resistance[:, rows]
    emf = {branch: volts[rows] for branch, volts in cases.emf.items()}
    at_probe = _at_probes(wanted)
    for probe, own in at_probe.items():
        if probe is not None:
            resistance[AT[f"meter {probe}"], own] = METER_OHM
    solved = _solved(resistance, emf, at_probe.values())
    patterns = closed_patterns(np.isfinite(resistance[:METERS_FROM]))
    known = {
        AT[f"meter {probe}"]: _metered(solved, patterns, probe, own)
        for probe, own in at_probe.items()
        if probe is not None
    }
    # Ten kilovolts behind ten kilohms solve well here, but are no driver: what others
    # read is its resistance at this current. That is a small difference of large
    # numbers, so the current itself is kept and not worked out of it again.
    for driver in (AT["high_driver"], AT["low_driver"]):
        if driver in emf:
            known[driver] = solved.current(driver)
            _linearise(resistance[driver], emf[driver], known[driver])
    return Settled(
        resistance=resistance,
        emfs=emf,
        voltage=solved.voltage,
        floats=solved.floats,
        known_a=known,
        coil_frac=coil_frac[rows],
    )


def _at_probes(
    wanted: Sequence[tuple[Span, str | None]],
) -> dict[str | None, Rows]:
    """The cases, as they are measured, that the voltmeter is at each probe of."""
    found, start = dict[str | None, list[Rows]](), 0
    for (first, last), probe in wanted:
        end = start + last - first
        found.setdefault(probe, []).append(np.arange(start, end))
        start = end
    return {probe: np.concatenate(rows) for probe, rows in found.items()}


def _metered(solved: _Solved, patterns: Rows, probe: str, rows: Rows) -> Floats:
    """Current of a meter; none where something hangs by it that nothing else feeds.

    No current can flow there; a wire of milliohms behind ten megohms leaves some
    microvolts of rounding.
    """
    current, meter = np.zeros(len(patterns)), AT[f"meter {probe}"]
    hangs = apart(TOPOLOGY, patterns[rows], PROBES[probe])
    current[rows] = np.where(hangs, 0.0, solved.current(meter, rows))
    return current


def _limit_drivers(cases: _Cases, idle: _Solved) -> Rows:
    """Turn drivers above their limit into steep current sources, or off.

    Returns
    -------
    array of int
        The cases whose driver limits.
    """
    is_high, limit = cases.of_name("is_high_side") > 0, cases.of_name("driver_limit_a")
    shuts_off = cases.of_name("does_driver_shut_off") > 0
    limited = list[Rows]()
    for name, is_its in (("high_driver", is_high), ("low_driver", ~is_high)):
        driver = AT[name]
        over = np.flatnonzero(is_its & (idle.current(driver) > limit))
        if not len(over):
            continue
        shuts, kept = over[shuts_off[over]], over[~shuts_off[over]]
        cases.resistance[driver, shuts] = _INF
        if len(kept):
            # A source of the limit with a steep slope, as the emf and ohms that a
            # branch can have.
            cases.resistance[driver, kept] += parts.LIMITER_OHM
            cases.emf[driver] = np.zeros_like(limit)
            cases.emf[driver][kept] = parts.LIMITER_OHM * limit[kept]
        limited.append(over)
    return np.concatenate(limited) if limited else np.array([], dtype=np.intp)


def _linearise(resistance: Floats, emf: Floats, current: Floats) -> None:
    """Write limiting drivers as the resistance of their operating point."""
    limits = emf > 0
    resistance[limits] -= emf[limits] / current[limits]
    emf[limits] = 0.0


def _work_loads(cases: _Cases) -> None:
    """Give every load that is fed its operating point.

    Seen from the load the rest is a source with a resistance (Thévenin), so that each
    case is one equation in one unknown.
    """
    load = AT["load"]
    # At its cold ohms, for any will do to find the source that feeds it. One that is
    # open has no current.
    standing = cases.solved().current(load)
    fed = np.flatnonzero(standing > 1e-9)
    standing = standing[fed]
    if not len(fed):
        return
    # Thévenin: its voltage is what stands where the load was taken out, and its ohms
    # are those of the whole loop, by the current before, less the load's own.
    without = cases.resistance[:, fed]
    without[load] = _INF
    emf = {branch: volts[fed] for branch, volts in cases.emf.items()}
    solution = _solved(without, emf)
    plus, minus = (TOPOLOGY.nodes.index(node) for node in ENDS["load"])
    # A load that hangs on its own ground lead alone floats when it is taken out.
    sure = ~(solution.floats[plus] | solution.floats[minus])
    open_v = (solution.voltage[plus] - solution.voltage[minus])[sure]
    fed, standing = fed[sure], standing[sure]
    series = open_v / standing - cases.at("load")[fed]
    is_motor = cases.of_name("motor_constant_vs")[fed] > 0
    for rows, law in ((is_motor, _turn), (~is_motor, _warm)):
        if rows.any():
            law(cases, fed[rows], open_v[rows], series[rows])


def _turn(cases: _Cases, rows: Rows, open_v: Floats, series_ohm: Floats) -> None:
    """Let motors run: the armature warm, against their back-EMF."""
    value = {name: cases.of_name(name)[rows] for name in _MOTOR}
    armature = value["load_ohm"] * value["hot_frac"]
    load = AT["load"]
    cases.resistance[load, rows] = armature
    emf = cases.emf.setdefault(load, np.zeros(cases.value.shape[1]))
    # Against the current: branches count what drives them from load+ to load-.
    emf[rows] = -parts.running_emf(
        open_v,
        series_ohm + armature,
        value["motor_constant_vs"],
        (value["fan_nms2"], value["friction_nm"]),
    )


_MOTOR = "load_ohm", "hot_frac", "motor_constant_vs", "fan_nms2", "friction_nm"
_WARM = "load_ohm", "duty_frac", "hot_frac", "rated_v", "load_rated_a", "lamp_exponent"


def _warm(cases: _Cases, rows: Rows, open_v: Floats, series_ohm: Floats) -> None:
    """Let windings, mats and filaments come to their working resistance."""
    value = {name: cases.of_name(name)[rows] for name in _WARM}
    cases.resistance[AT["load"], rows] = parts.working_resistance(
        open_v, series_ohm, value
    )
