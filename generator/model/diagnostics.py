"""Diagnostic tests: their true values for many circuits at once, and outcomes.

A test sets the circuit up, measures one thing and sorts the reading into an outcome
word by the edges of its scale. Edges come from the sound circuit of the same
specification: the expected band is its reading plus or minus four standard
uncertainties, propagated from the tolerances (JCGM 100:2008, eq. 10).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from generator.model import instruments
from generator.model.circuit import Columns, RelayCircuit, columns_of
from generator.model.fault_codes import codes
from generator.model.measure import DiagnosticTest, Measure, Setup
from generator.model.parts import CONTROL_FUSE_A
from generator.model.scales import DROP_LIMITS_V, SPIKE_LIMIT_V, Scale
from generator.model.seen import fuse_out, word_seen
from generator.model.settling import Unsettled
from generator.model.steps import InSteps, Steps, settled_of
from generator.model.topology import Settled
from generator.model.turn_off import peak_to_peak_v
from generator.model.uncertainty import standard_uncertainty
from generator.model.warmth import WARM_PARTS, heat_w
from generator.model.work import WEAK_FRAC, work_done

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Band = tuple[float, float]
# A circuit calm, and while its harness is wiggled and warm.
Pair = tuple[RelayCircuit, RelayCircuit]
PROVES_NOTHING = "proves nothing"
"""Outcome of every test done in a wrong state, on every circuit."""
# Coverage factor of the expected band. Tolerances are limits, so that three standard
# uncertainties hold practically every sound circuit; the fourth leaves room for the
# supply, which sags less when a fault keeps the load from running.
COVERAGE = 4.0
_NO_CURRENT_DROP_V = 0.0005
_PULLED_DOWN_V = 1.0
# A load that a test lamp of 5 W feeds takes less than this share of the supply.
_LEADS_FRAC = 0.2
_NO_FEED_V = 0.5
_FULL_SUPPLY_FRAC = 0.85
# A terminal that moves by less than this share of the supply does not switch.
_STILL_FRAC = 0.2
NO_CURRENT_FRAC = 0.08
"""Below this share of the expected current a reading counts as none."""
# Rise of a part above what lies beside it from which on it is hot [K]. Above the air
# 21 to 40 K are watched until they are mended, and more is mended at once (ANSI/NETA
# MTS, table 100.18, read at arpedon.com); a sound relay itself stays below 20 K.
HOT_K = 25.0
# Above this share of its rating the fuse of a test lead opens before a meter reads.
LEAD_OPENS_FRAC = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """True values of tests for circuits and variants of their values.

    Attributes
    ----------
    value : array, shape (n_circuits, n_tests, n_variants)
        [A], [V], [Ω] or [K]; for work as ``work_done``; for a click and a state the
        number of its word.
    settled : Settled
        Operating points, shape (n_circuits, n_setups, n_variants, ...).
    setups : tuple of int, length n_tests
        Number of the setup that each test is done in.
    """

    value: Floats
    settled: Settled
    setups: tuple[int, ...]

    def at(self, test: int) -> Settled:
        """Look at the operating points that a test measures, in one setup."""
        return self.settled.in_setup(self.setups[test])

    @property
    def coil_frac(self) -> Floats:
        """Coil current over pull-in, shape (n_circuits, n_tests, n_variants)."""
        return self.settled.coil_frac[:, self.setups]


@InSteps
def readings(
    pairs: Sequence[Pair],
    sound: RelayCircuit,
    tests: Sequence[DiagnosticTest],
    steps: Mapping[str, float] | None = None,
) -> Steps[Readings]:
    """Compute what every test truly measures on every circuit, in one batch.

    Parameters
    ----------
    pairs : sequence of pairs of RelayCircuit, length n_circuits
        Each circuit calm, and while its harness is wiggled and warm.
    sound : RelayCircuit
        The circuit before it broke: where new parts come from.
    tests : sequence of DiagnosticTest, length n_tests
    steps : mapping of str to float, optional
        Relative step of each value to vary. Variant 0 is the circuit as given,
        variant k has the k-th of these values larger by its step.
    """
    circuits = [calm for calm, _ in pairs]
    columns, stressed, reference = (
        columns_of(some).varied(steps or {})
        for some in (circuits, [moved for _, moved in pairs], [sound])
    )
    # Several tests look at one and the same state.
    setups = list(dict.fromkeys(s for test in tests for s in _setups(test)))
    number_of = {setup: number for number, setup in enumerate(setups)}
    states = yield from settled_of(
        Unsettled(columns=columns, sound=reference, setups=setups, stressed=stressed)
    )
    n_circuits, n_variants = columns.values.shape[1:]
    value = np.empty((n_circuits, len(tests), n_variants))
    for number, test in enumerate(tests):
        if test.measure.kind == "state" and test.measure.target != "codes":
            value[:, number] = [[word_seen(circuit, test)] for circuit in circuits]
        elif test.measure.true_kind == "resistance":
            value[:, number] = _resistance(columns, test.measure.target)
        else:
            at = tuple(number_of[setup] for setup in _setups(test))
            value[:, number] = _measured(columns, states, test, at, sound)
    own = tuple(number_of[test.setup] for test in tests)
    return Readings(value=value, settled=states, setups=own)


def _measured(
    columns: Columns,
    states: Settled,
    test: DiagnosticTest,
    at: tuple[int, ...],
    sound: RelayCircuit,
) -> Floats:
    """What a test truly measures by the states in its setups."""
    measure, (first, *_) = test.measure, at
    if measure.target == "codes":
        return codes(columns, states, *at)
    if measure.kind == "spike":
        on, off = at
        return peak_to_peak_v(columns, states, (measure.target, on, off))
    if measure.kind == "click":
        on, off = at
        moves = _moves(columns, states.coil_frac[:, on], states.coil_frac[:, off])
        return np.where(moves, *map(test.words.index, _CLICKS))
    if measure.kind == "warmth":
        part = WARM_PARTS[measure.target]
        return part.rise_k(heat_w(columns, states.in_setup(first), part))[:, 0]
    if measure.kind == "work":
        return _work(columns, states.in_setup(first), sound)[:, 0]
    if measure.true_kind == "voltage":
        return states.meter_voltage(measure.target, first)
    current = states.current(measure.target, first)
    return current * columns["sense_frac"] if measure.sense else current


# With an armature that moves as it is commanded on and off, and without.
_CLICKS = "clicks", "silent"


def _moves(columns: Columns, on_frac: Floats, off_frac: Floats) -> Flags:
    """Whether the command moves the armature, by the coil's current over pull-in."""
    # Welded contacts hold it where it is: what is left of its way nobody hears.
    moves: Flags = (on_frac >= 1) & (off_frac < 1) & (columns["is_welded"] == 0)
    return moves


def _work(columns: Columns, settled: Settled, sound: RelayCircuit) -> Floats:
    """Work done behind a fused lead; none where its fuse opens at once."""
    limit = LEAD_OPENS_FRAC * sound.load_fuse_rating_a
    return work_done(columns, settled) * (settled.current("load_fuse") <= limit)


def _setups(test: DiagnosticTest) -> tuple[Setup, ...]:
    """Setups whose states a test looks at: before a switching and after it."""
    is_switched = test.measure.kind in ("spike", "click")
    if is_switched or test.measure.target == "codes":
        return test.setup, replace(test.setup, command="off")
    return (test.setup,)


def _resistance(columns: Columns, part: str) -> Floats:
    """Resistance of a part out of its circuit, cold [Ω]."""
    if part == "load":
        return columns["load_ohm"]
    with np.errstate(divide="ignore"):
        conductance = 1 / columns["coil_ohm"] + 1 / columns["suppression_ohm"]
        return np.asarray(1 / conductance)


@InSteps
def scales(
    sound: RelayCircuit, tests: Sequence[DiagnosticTest], steps: Mapping[str, float]
) -> Steps[tuple[Scale, ...]]:
    """Outcome words and edges of every test on circuits of one specification.

    Parameters
    ----------
    sound : RelayCircuit
        With nominal values.
    steps : mapping of str to float
        Standard uncertainty of each value as a fraction of it.
    """
    everything = (*_REFERENCES, *tests)
    # Without its load: what the coil alone makes of a reading.
    idle = sound.with_values(load_ohm=np.inf)
    both = [(sound, sound), (idle, idle)]
    value = (yield from readings.steps(both, sound, everything, steps)).value
    # Of the sound circuit alone; the idle one only says what the coil adds to a
    # reading.
    half = COVERAGE * standard_uncertainty(value[:1], everything)[0]
    nominal = value[0, :, 0]
    bands = list(zip((nominal - half).tolist(), (nominal + half).tolist(), strict=True))
    load, control, *own = bands
    without_load = value[1, len(_REFERENCES) :, 0].tolist()
    return tuple(
        _current_scale(test, sound, _current_band(test, band, load, control), coil)
        if test.measure.kind == "current"
        else _scale(test, sound.supply_v, band, coil)
        for test, band, coil in zip(tests, own, without_load, strict=True)
    )


# The two currents by whose expected bands all current tests are sorted.
_REFERENCES = (
    DiagnosticTest(
        id="load_current",
        title="",
        how="",
        before="",
        minutes=1,
        needs=(),
        measure=Measure(kind="current", target="load_fuse", clamp=instruments.CLAMP_10),
        sorting="load current",
        setup=Setup(load_lead=True),
    ),
    DiagnosticTest(
        id="control_current",
        title="",
        how="",
        before="",
        minutes=1,
        needs=(),
        measure=Measure(
            kind="current", target="control_feed", clamp=instruments.CLAMP_100
        ),
        sorting="control current",
    ),
)


def _current_band(test: DiagnosticTest, own: Band, load: Band, control: Band) -> Band:
    """Expected band of a current: the test's own, unless nothing should flow."""
    if test.sorting != "presence":
        return own
    return load if _is_load(test) else control


def _is_load(test: DiagnosticTest) -> bool:
    return test.measure.target in ("load_fuse", "load", "contacts")


def _none_edge(band: Band, coil: float) -> float:
    """Below what counts as no current of the load.

    ``coil`` is what the coil's current makes of the reading where it passes, too.
    """
    return coil + NO_CURRENT_FRAC * (sum(band) / 2 - coil)


def _scale(test: DiagnosticTest, supply: float, own_band: Band, coil: float) -> Scale:
    if test.sorting == "drop":
        limit = DROP_LIMITS_V[test.measure.target]
        # The edge to ``high`` is the limit of the sheet, and not the expected band: a
        # joint that is worse than its neighbours and within the limit is sound.
        none = max(_NO_CURRENT_DROP_V, _none_edge(own_band, coil))
        return Scale(
            words=("none", "expected", "high", "supply voltage"),
            edges=(none, limit, _FULL_SUPPLY_FRAC * supply),
            band=(none, limit),
        )
    if test.sorting == "feed voltage":
        return Scale(
            words=("none", "low", "supply voltage"),
            edges=(_NO_FEED_V, _FULL_SUPPLY_FRAC * supply),
            # A vehicle's supply may lie above the nominal one.
            band=(_FULL_SUPPLY_FRAC * supply, max(supply, own_band[1])),
        )
    if test.sorting == "pulled down":
        return Scale(
            words=("expected", "high", "supply voltage"),
            edges=(_PULLED_DOWN_V, _FULL_SUPPLY_FRAC * supply),
            band=(0.0, _PULLED_DOWN_V),
        )
    if test.sorting == "to ground":
        leads = _LEADS_FRAC * supply
        return Scale(
            words=("expected", "high", "supply voltage"),
            edges=(leads, _FULL_SUPPLY_FRAC * supply),
            band=(0.0, leads),
        )
    if test.sorting == "turn-off":
        band = (_STILL_FRAC * supply, SPIKE_LIMIT_V)
        return Scale(words=("none", "expected", "high"), edges=band, band=band)
    if test.sorting == "resistance":
        # What is beyond the last range of the meter is shown as OL: no resistance to
        # read.
        low, high = own_band
        end = instruments.ohmmeter_for(test.measure.target).ranges[-1].end
        words = ("low", "expected", "high", "over limit")
        return Scale(words=words, edges=(low, high, end), band=(low, high))
    if test.sorting == "warmth":
        band = (0.0, HOT_K)
        return Scale(words=("expected", "high"), edges=band[1:], band=band)
    if test.sorting in ("work", "complaint"):
        return Scale(words=("no", "yes"), edges=(WEAK_FRAC * sum(own_band) / 2,))
    # The reading of a state is the number of its word.
    edges = tuple(number - 0.5 for number in range(1, len(test.words)))
    return Scale(words=test.words, edges=edges)


def _current_scale(
    test: DiagnosticTest, sound: RelayCircuit, band: Band, coil: float
) -> Scale:
    low, high = band
    if test.sorting == "sensed current":
        # As coarse as that is, it tells some current from none, and no more.
        least = NO_CURRENT_FRAC * sound.load_rated_a
        return Scale(words=("none", "present"), edges=(least,), band=band)
    has_coil = test.sorting in ("load current", "recorded current")
    none = _none_edge(band, coil if has_coil else 0.0)
    rating_a = sound.load_fuse_rating_a if _is_load(test) else CONTROL_FUSE_A
    limit = LEAD_OPENS_FRAC * rating_a
    if test.sorting == "presence":
        words: tuple[str, ...] = ("none", "present", "over limit")
        return Scale(words=words, edges=(none, limit), band=(0.0, none))
    words = ("none", "low", "expected", "high", "over limit")
    return Scale(words=words, edges=(none, low, high, limit), band=(low, high))


def outcomes(
    value: Floats,
    on_scales: Sequence[Scale],
    circuits: Sequence[RelayCircuit],
    tests: Sequence[DiagnosticTest],
) -> tuple[tuple[str, ...], ...]:
    """Outcome word of every test on every circuit, shape (n_circuits, n_tests)."""
    return tuple(
        tuple(
            _word(test, scale, reading, circuit)
            for test, scale, reading in zip(tests, on_scales, row, strict=True)
        )
        for circuit, row in zip(circuits, value.tolist(), strict=True)
    )


def _word(
    test: DiagnosticTest, scale: Scale, reading: float, circuit: RelayCircuit
) -> str:
    if test.mistake:
        return PROVES_NOTHING
    # A lead in place of an open fuse reads as if nothing were wrong: the fuse that came
    # out is part of what the test shows.
    fuse = fuse_out(test, circuit)
    return scale.word(reading) + ("" if fuse in ("", "intact") else f", fuse {fuse}")
