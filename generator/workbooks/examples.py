"""Worked examples: circuits that a lesson's text talks about, solved by the model.

An example is an exercise that everybody sees, so it is drawn from a stream that is no
secret, and every number in a lesson's text is asked of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from generator.drawing.exercise import Exercise
from generator.drawing.names import Named
from generator.drawing.wording import short_text
from generator.model.catalogue.repairs import repair_text
from generator.model.circuit import RelayCircuit
from generator.model.inrush import (
    HEAT_S_PER_K,
    NO_FAN_NMS2,
    Filament,
    Motor,
    Source,
    heater_inrush,
    lamp_inrush,
    motor_start,
    winding_rise,
)
from generator.model.instruments import SCOPE, VOLTMETER, Errors, ohmmeter_for
from generator.model.measure import UNITS, DiagnosticTest
from generator.model.trace import Trace
from generator.model.transients import CoilCircuit, Suppression, coil_turn_off
from generator.model.turn_off import coil_of
from generator.model.variant import LoadKind
from generator.pictures.circuit_text import (
    circuit_markdown,
    image_markdown,
    sheet_markdown,
    table_markdown,
)
from generator.pictures.scope import TABLE_HEAD, View, scope_picture, turn_off_picture
from generator.questions.load_traces import LOAD_PATH
from generator.workbooks.halves import Halves, search_by_halves
from workbook.texts import _, later

SUPPRESSIONS: Mapping[str, Suppression] = {
    "nothing": Suppression(),
    "resistor": Suppression(resistor_ohm=680.0),
    "diode": Suppression(diode_ohm=0.2),
    "clamping driver": Suppression(),
}
"""What can take the energy of a coil."""
# A driver that clamps does so well above the supply (common practice, no source).
_CLAMP_OVER_SUPPLY_V = 35.0
_LAMP_S, _HEATER_S = 0.3, 0.1
# Time constant of a valve or a clutch (common practice, no source).
_WINDING_S = 0.02
_PATH = ("load_fuse", *LOAD_PATH)


def turn_off_markdown(circuit: RelayCircuit, names: Named, across: str) -> str:
    """Show the voltage behind the coil when a low-side driver opens.

    Parameters
    ----------
    across : str
        One of ``SUPPRESSIONS``.
    """
    # Checks also what stands across the coil, which has no title otherwise.
    trace, title = _turn_off(circuit, across), _(_TITLES[across])
    title = title.format(relay=names.relay)
    place = _("terminal {pin}").format(pin=names.coil_return)
    view = View(title=title, quantity="voltage", place=place)
    return _markdown(trace, view)


def turn_off_peak_v(circuit: RelayCircuit, across: str) -> float:
    """Highest voltage behind the coil, as ``turn_off_markdown`` shows it [V]."""
    return _turn_off(circuit, across).peak_v


_TITLES = {
    "nothing": later("Relay {relay} is switched off, nothing across its coil"),
    "resistor": later("Relay {relay} is switched off, a resistor across its coil"),
    "diode": later("Relay {relay} is switched off, a diode across its coil"),
    "clamping driver": later("Relay {relay} is switched off, the driver clamps"),
}


def _turn_off(circuit: RelayCircuit, across: str) -> Trace:
    if across not in SUPPRESSIONS:
        raise ValueError(
            f"{across!r} is nothing across a coil. Name one of "
            f"{', '.join(SUPPRESSIONS)}."
        )
    clamps = across == "clamping driver"
    return coil_turn_off(
        CoilCircuit(
            supply_v=circuit.supply_v,
            winding=coil_of(circuit).winding,
            suppression=SUPPRESSIONS[across],
            feed_ohm=circuit.control_feed_ohm,
            return_ohm=circuit.control_return_ohm + circuit.driver_ohm,
            clamp_v=circuit.supply_v + _CLAMP_OVER_SUPPLY_V if clamps else math.inf,
        )
    )


def inrush_markdown(circuit: RelayCircuit, kind: LoadKind, names: Named) -> str:
    """Show the current of the load when the contacts close."""
    view = View(
        title=_("The {load} is switched on").format(load=names.load),
        quantity="current",
        place=_("the {load}").format(load=names.load),
    )
    return _markdown(_inrush(circuit, kind), view)


def _inrush(circuit: RelayCircuit, kind: LoadKind) -> Trace:
    """Start the load of a circuit from cold and from standstill."""
    source = Source(
        emf_v=circuit.supply_v,
        resistance_ohm=sum(getattr(circuit, f"{name}_ohm") for name in _PATH),
    )
    if circuit.motor_constant_vs > 0:
        motor = Motor(
            armature_ohm=circuit.load_ohm,
            constant_vs=circuit.motor_constant_vs,
            fan_nms2=max(circuit.fan_nms2, NO_FAN_NMS2),
            friction_nm=circuit.friction_nm,
        )
        return motor_start(source, motor)
    if circuit.lamp_exponent > 0:
        rated_w = circuit.rated_v * circuit.load_rated_a
        lamp = Filament(
            hot_ohm=circuit.rated_v / circuit.load_rated_a,
            hot_v=circuit.rated_v,
            heat_j_per_k=HEAT_S_PER_K * rated_w,
        )
        return lamp_inrush(source, lamp, _LAMP_S)
    if kind in ("solenoid valve", "magnetic clutch"):
        inductance_h = _WINDING_S * circuit.load_ohm
        return winding_rise(source, circuit.load_ohm, inductance_h, 6 * _WINDING_S)
    return heater_inrush(source, circuit.load_ohm, _HEATER_S)


def _markdown(trace: Trace, view: View) -> str:
    picture = scope_picture(trace, view)
    table = table_markdown([_(head) for head in TABLE_HEAD], picture.rows)
    return f"{image_markdown(picture.svg, picture.alt)}\n\n{table}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One test of the planned path: what it showed, and how many causes it left."""

    title: str
    minutes: float
    display: str
    outcome: str
    left: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedExample:
    """A circuit with its fault, as a lesson's text may ask about it.

    Every method named after a test takes its id. Amounts are texts with their unit;
    ``circuit`` holds the nominal values as numbers in SI units.
    """

    exercise: Exercise
    sound_value: Mapping[str, float]

    @property
    def names(self) -> Named:
        """What the parts are called."""
        return self.exercise.specification.names

    @property
    def circuit(self) -> RelayCircuit:
        """The sound circuit with its nominal values."""
        return self.exercise.specification.nominal

    @property
    def complaint(self) -> str:
        """What the operator says."""
        return self.exercise.complaint

    @property
    def cause(self) -> str:
        """The fault in words."""
        return self.names.fill(self.exercise.fault.title)

    @property
    def correction(self) -> str:
        """What cures it."""
        return self.names.fill(repair_text(self.exercise.fault.repair))

    @property
    def picture(self) -> str:
        """The wiring diagram with the same circuit as a table, in Markdown."""
        return circuit_markdown(self.exercise.specification)

    @property
    def sheet(self) -> str:
        """The specification sheet as a Markdown table."""
        return sheet_markdown(self.exercise.specification)

    @property
    def causes(self) -> int:
        """How many causes can bring the complaint."""
        return len(self.exercise.candidates)

    def title(self, test: str) -> str:
        """What a test is called."""
        return self.names.fill(self._test(test).title)

    def minutes(self, test: str) -> str:
        """How long a test takes."""
        return _("{minutes} min").format(minutes=f"{self._test(test).minutes:g}")

    def expected(self, test: str) -> str:
        """What a test truly measures on the sound circuit."""
        return self._amount(test, self.sound_value[test])

    def band(self, test: str) -> str:
        """From where to where a sound circuit reads."""
        scale = self.exercise.scales[self._place(test)]
        if scale.band is None:
            raise ValueError(f"{test} has words for its outcomes, and no band")
        low, high = (self._amount(test, end) for end in scale.band)
        return _("{low} to {high}").format(low=low, high=high)

    def sound(self, test: str) -> str:
        """What the instrument displays on the sound circuit, free of errors."""
        measure = self._test(test).measure
        if measure.kind == "spike":
            return SCOPE.display(self.sound_value[test], Errors())
        is_ohms = measure.kind == "resistance"
        meter = ohmmeter_for(measure.target) if is_ohms else VOLTMETER
        return (measure.clamp or meter).display(self.sound_value[test], Errors())

    def sound_outcome(self, test: str) -> str:
        """The sound circuit's reading in a word."""
        return _(self.exercise.sound_outcome[self._place(test)])

    def amount(self, test: str) -> str:
        """What a test truly measures on the broken circuit."""
        return self._amount(test, self.exercise.readings[self._place(test)].value)

    def reading(self, test: str) -> str:
        """What the instrument displays on the broken circuit."""
        return self.exercise.readings[self._place(test)].shown

    def outcome(self, test: str) -> str:
        """The reading of the broken circuit in a word."""
        return _(self.exercise.actual_outcome[self._place(test)])

    def trace(self, test: str) -> str:
        """What the scope's screen shows on the broken circuit, in Markdown."""
        shown = self.exercise.readings[self._place(test)].turn_off
        if shown is None:
            raise ValueError(f"{test} is not read on a scope")
        picture = turn_off_picture(shown)
        return image_markdown(picture.svg, picture.alt)

    def turn_off(self, across: str) -> str:
        """The coil let go with something across it: a picture, and its points."""
        return turn_off_markdown(self.circuit, self.names, across)

    def turn_off_peak(self, across: str) -> str:
        """How high the voltage behind the coil goes then."""
        return short_text(turn_off_peak_v(self.circuit, across), "V")

    @property
    def inrush(self) -> str:
        """The current of the load when it is switched on: a picture, and its points."""
        kind = self.exercise.specification.family.kind
        return inrush_markdown(self.circuit, kind, self.names)

    @property
    def by_halves(self) -> Halves:
        """Where its load circuit is open, by volts to ground, half way each time."""
        return search_by_halves(self.exercise)

    @property
    def path(self) -> tuple[Step, ...]:
        """The planned tests to the proved cause."""
        exercise, plan = self.exercise, self.exercise.plan
        # Minutes hang on the places open before a test, causes left on what it shows:
        # the state before goes with the state after, and the last one has no test.
        before = [plan.start, *(state for _test, state in exercise.way)]
        return tuple(
            Step(
                title=self.names.fill(exercise.tests[test].title),
                minutes=plan.minutes(stood, test),
                display=exercise.readings[test].shown,
                outcome=_(exercise.actual_outcome[test]),
                left=len(state.candidates),
            )
            for stood, (test, state) in zip(before, exercise.way, strict=False)
        )

    def _amount(self, test: str, value: float) -> str:
        return short_text(value, UNITS[self._test(test).measure.kind])

    def _test(self, test: str) -> DiagnosticTest:
        return self.exercise.tests[self._place(test)]

    def _place(self, test: str) -> int:
        known = [each.id for each in self.exercise.tests]
        if test not in known:
            raise ValueError(
                f"{test!r} is no test here. Name one of {', '.join(known)}."
            )
        return known.index(test)
