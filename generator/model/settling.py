"""How circuits settle: drivers, contacts, motors and filaments find their states.

Everything nonlinear is put at its operating point in a few linear solves of the whole
batch, so that each settled case is a linear network that any program can check.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import accumulate, pairwise

import numpy as np

from generator.model import parts
from generator.model.cases import Cases, Flags, Floats, Rows, Solved, solved_in_batches
from generator.model.circuit import ROWS, Columns
from generator.model.islands import Parted
from generator.model.measure import Setup
from generator.model.topology import (
    AT,
    ENDS,
    ISLANDS,
    METER_OHM,
    METERS_FROM,
    PROBES,
    TOPOLOGY,
    Settled,
)

Span = tuple[int, int]
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
_DRIVERS = AT["high_driver"], AT["low_driver"]


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
    looked_at = [
        ((number, _unprobed(setup)), setup.probe)
        for number, one in enumerate(asked)
        for setup in one.setups
    ]
    states = list(dict.fromkeys(state for state, _ in looked_at))
    blocks = [asked[number].values(state) for number, state in states]
    ends = accumulate((block.shape[1] for block in blocks), initial=0)
    spans = dict(zip(states, pairwise(ends), strict=True))
    cases = Cases.of(blocks, [state for _, state in states])
    coil_frac = _find_states(cases)
    wanted = [(spans[state], probe) for state, probe in looked_at]
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


def _find_states(cases: Cases) -> Floats:
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
    idle = cases.solved([AT["coil"], *_DRIVERS])
    coil_a = idle.current(AT["coil"])
    # Drivers carry the coil's current alone: they find their state before contacts do.
    limited = _limit_drivers(cases, idle)
    if len(limited):
        coil_a[limited] = cases.solved([AT["coil"]], limited).current(AT["coil"])
    is_smart = cases.of_name("is_smart") > 0
    # Without a relay the command itself closes the path.
    conducts = np.where(is_smart, _is_driven(cases), coil_a >= pull_in)
    pulls = is_welded | conducts
    cases.at("contacts")[:] = np.where(pulls, made, _INF)
    # A contact of its own: what is burnt at that to 87 is not at this one.
    cases.at("break_contact")[:] = np.where(pulls, _INF, rest)
    _work_loads(cases)
    return _shut_off(cases, np.flatnonzero(is_smart), np.asarray(coil_a / pull_in))


def _is_driven(cases: Cases) -> Flags:
    """Whether the driver conducts, which of a smart switch is its command."""
    driven: Flags = np.isfinite(cases.at("low_driver"))
    return driven


def _shut_off(cases: Cases, smart: Rows, coil_frac: Floats) -> Floats:
    """Open the switches that sense too much, and tell how near each is to that.

    Returns
    -------
    array, shape (n_cases,)
        As given, of a smart switch the current it senses over what it shuts off at.
    """
    if not len(smart):
        return coil_frac
    contacts, load = AT["contacts"], AT["load"]
    passed = cases.solved([contacts], smart).current(contacts)
    sensed = passed * cases.of_name("sense_frac")[smart]
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
    cases: Cases, coil_frac: Floats, wanted: Sequence[tuple[Span, str | None]]
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
    meters = [AT[f"meter {probe}"] for probe in at_probe if probe is not None]
    drivers = [driver for driver in _DRIVERS if driver in emf]
    nodes = range(len(TOPOLOGY.nodes))
    solved = solved_in_batches(
        resistance, emf, (*meters, *drivers), at_probe.values(), nodes
    )
    parted = ISLANDS.parted(np.isfinite(resistance[:METERS_FROM]))
    known = {
        AT[f"meter {probe}"]: _metered(solved, parted, probe, own)
        for probe, own in at_probe.items()
        if probe is not None
    }
    # Ten kilovolts behind ten kilohms solve well here, but are no driver: what others
    # read is its resistance at this current. That is a small difference of large
    # numbers, so the current itself is kept and not worked out of it again.
    for driver in drivers:
        known[driver] = solved.current(driver)
        _linearise(resistance[driver], emf[driver], known[driver])
    return Settled(
        resistance=resistance,
        emfs=emf,
        voltage=np.array([solved.voltage[node] for node in nodes]),
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


def _metered(solved: Solved, parted: Parted, probe: str, rows: Rows) -> Floats:
    """Current of a meter; none where something hangs by it that nothing else feeds.

    No current can flow there; a wire of milliohms behind ten megohms leaves some
    microvolts of rounding.
    """
    current, meter = np.zeros(len(parted.which)), AT[f"meter {probe}"]
    hangs = parted.apart(*map(TOPOLOGY.nodes.index, PROBES[probe]))[rows]
    current[rows] = np.where(hangs, 0.0, solved.current(meter, rows))
    return current


def _limit_drivers(cases: Cases, idle: Solved) -> Rows:
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


def _work_loads(cases: Cases) -> None:
    """Give every load that is fed its operating point.

    Seen from the load the rest is a source with a resistance (Thévenin), so that each
    case is one equation in one unknown.
    """
    load = AT["load"]
    # At its cold ohms, for any will do to find the source that feeds it. One that is
    # open has no current.
    standing = cases.solved([load]).current(load)
    fed = np.flatnonzero(standing > 1e-9)
    standing = standing[fed]
    if not len(fed):
        return
    # Thévenin: its voltage is what stands where the load was taken out, and its ohms
    # are those of the whole loop, by the current before, less the load's own.
    without = cases.resistance[:, fed]
    without[load] = _INF
    emf = {branch: volts[fed] for branch, volts in cases.emf.items()}
    volts = solved_in_batches(without, emf, [load]).voltage
    plus, minus = (TOPOLOGY.nodes.index(node) for node in ENDS["load"])
    # A load that hangs on its own ground lead alone floats when it is taken out.
    parted = ISLANDS.parted(np.isfinite(without[:METERS_FROM]))
    sure = ~(parted.apart(plus, 0) | parted.apart(minus, 0))
    open_v = (volts[plus] - volts[minus])[sure]
    fed, standing = fed[sure], standing[sure]
    series = open_v / standing - cases.at("load")[fed]
    is_motor = cases.of_name("motor_constant_vs")[fed] > 0
    for rows, law in ((is_motor, _turn), (~is_motor, _warm)):
        if rows.any():
            law(cases, fed[rows], open_v[rows], series[rows])


def _turn(cases: Cases, rows: Rows, open_v: Floats, series_ohm: Floats) -> None:
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


def _warm(cases: Cases, rows: Rows, open_v: Floats, series_ohm: Floats) -> None:
    """Let windings, mats and filaments come to their working resistance."""
    value = {name: cases.of_name(name)[rows] for name in _WARM}
    cases.resistance[AT["load"], rows] = parts.working_resistance(
        open_v, series_ohm, value
    )
