"""Worked examples: circuits that a lesson's text talks about, solved by the model.

An example is an exercise that everybody sees, so it is drawn from a stream that is no
secret, and every number in a lesson's text is asked of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from generator.model.instruments import OHMMETER, SCOPE, VOLTMETER, Errors
from generator.model.repairs import repair_text
from generator.writing.circuit_text import circuit_markdown, sheet_markdown
from generator.writing.lesson_figures import (
    inrush_markdown,
    turn_off_markdown,
    turn_off_peak_v,
)
from generator.writing.markdown import image_markdown
from generator.writing.reasoning import exercise_plan
from generator.writing.turn_off_picture import turn_off_picture
from generator.writing.wording import short_text
from workbook.texts import _

if TYPE_CHECKING:
    from collections.abc import Mapping

    from generator.model.circuit import RelayCircuit
    from generator.model.measure import DiagnosticTest
    from generator.writing.exercise import Exercise
    from generator.writing.specification import Named

__all__ = ["Step", "WorkedExample"]

_UNITS = {"current": "A", "voltage": "V", "spike": "V", "resistance": "Ω"}


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
        meter = OHMMETER if measure.kind == "resistance" else VOLTMETER
        return (measure.clamp or meter).display(self.sound_value[test], Errors())

    def sound_outcome(self, test: str) -> str:
        """The sound circuit's reading in a word."""
        return _(self.exercise.sound_outcome[self._place(test)])

    def amount(self, test: str) -> str:
        """What a test truly measures on the broken circuit."""
        return self._amount(test, self.exercise.readings[self._place(test)].value)

    def reading(self, test: str) -> str:
        """What the instrument displays on the broken circuit."""
        return self.exercise.readings[self._place(test)].said

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
    def path(self) -> tuple[Step, ...]:
        """The planned tests to the proved cause."""
        exercise, plan = self.exercise, exercise_plan(self.exercise)
        left, steps = tuple(range(len(exercise.candidates))), list[Step]()
        while (best := plan.best_test(left)) is not None:
            outcome = exercise.actual_outcome[best]
            left = plan.after(left, best, outcome)
            steps.append(
                Step(
                    title=self.names.fill(exercise.tests[best].title),
                    minutes=exercise.tests[best].minutes,
                    display=exercise.readings[best].said,
                    outcome=_(outcome),
                    left=len(left),
                )
            )
        return tuple(steps)

    def _amount(self, test: str, value: float) -> str:
        return short_text(value, _UNITS[self._test(test).measure.kind])

    def _test(self, test: str) -> DiagnosticTest:
        return self.exercise.tests[self._place(test)]

    def _place(self, test: str) -> int:
        known = [each.id for each in self.exercise.tests]
        if test not in known:
            raise ValueError(
                f"{test!r} is no test here; allowed are {', '.join(known)}"
            )
        return known.index(test)
