"""One exercise: a broken circuit with everything a student is asked about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from answer_keys.observed import NOTHING, Observed
from generator.drawing.predictions import Prediction, SoundCurrents, new_predictions
from generator.drawing.radical import Radical
from generator.drawing.reading import Reading
from generator.drawing.specification import Specification
from generator.model.catalogue.fault import Fault
from generator.model.catalogue.repairs import sections_of, wrong_repair_minutes
from generator.model.catalogue.wrong_state import LIKE
from generator.model.complaints import Symptom
from generator.model.diagnostics import PROVES_NOTHING, Pair
from generator.model.instruments import Errors
from generator.model.measure import DiagnosticTest
from generator.model.network import Network
from generator.model.plan import Plan
from generator.model.plan_tree import State
from generator.model.reasoning import FaultChance, Reasoning, Site
from generator.model.scales import Scale
from generator.model.turn_off import Coil
from workbook.texts import ENGLISH, _, speaking


# No slots: what is worked out once is kept beside the fields.
@dataclass(frozen=True, kw_only=True)
class Exercise:
    """A broken circuit with everything a student is asked about it.

    Attributes
    ----------
    candidates : tuple of Fault, length n_faults
        Causes that can produce the complaint, in the order of the catalogue.
    outcome : tuple, shape (n_faults, n_tests)
        What each test shows under each candidate.
    sound_outcome, sound_values, readings : tuple, length n_tests
        Of the sound circuit, and of the vehicle as it is.
    sound_network, sound_coil : Network, Coil
        The vehicle before it broke, commanded on.
    pairs : tuple of Pair, length n_faults
        The nominal circuit with each candidate.
    vehicle : Pair
        The vehicle as it was built, and broken.
    errors : Errors
        Of the instruments on this vehicle, their noise left out.
    source_complaint : str
        The operator's words, not translated yet: whatever is drawn is the same in all
        languages, and texts are made of it in the language spoken when it is shown.
    question_key : bytes
        Drawn with it, and decides what is drawn for its questions.
    observed : Observed
        How hard such exercises have proved to be; decides nothing of what is drawn.
    """

    radical: Radical
    specification: Specification
    source_complaint: str
    symptom: Symptom
    fault: Fault
    tests: tuple[DiagnosticTest, ...]
    scales: tuple[Scale, ...]
    candidates: tuple[Fault, ...]
    outcome: tuple[tuple[str, ...], ...]
    sound_outcome: tuple[str, ...]
    sound_values: tuple[float, ...]
    readings: tuple[Reading, ...]
    sound_network: Network
    sound_coil: Coil
    sound_currents: SoundCurrents
    pairs: tuple[Pair, ...]
    vehicle: Pair
    errors: Errors
    question_key: bytes
    observed: Observed = NOTHING

    @property
    def complaint(self) -> str:
        """What the operator says, in the language spoken."""
        return _(self.source_complaint)

    @property
    def predictions(self) -> tuple[Prediction, ...]:
        """What is asked before the first test, in the language spoken."""
        return new_predictions(self.specification.nominal, self.sound_currents)

    @cached_property
    def actual_outcome(self) -> tuple[str, ...]:
        """What each test shows on this vehicle."""
        return self.outcome[self.candidates.index(self.fault)]

    @cached_property
    def sections_of_causes(self) -> tuple[frozenset[str], ...]:
        """Ids of the sections in which each candidate lies."""
        nominal = self.specification.nominal
        return tuple(sections_of(fault, nominal) for fault in self.candidates)

    @cached_property
    def reasoning(self) -> Reasoning:
        """Priors, outcomes, minutes and repairs: all that decides the plan."""
        faults = tuple(
            FaultChance(
                id=fault.id,
                prior=fault.prior,
                repair=fault.repair,
                sections=tuple(sorted(where)),
            )
            for fault, where in zip(
                self.candidates, self.sections_of_causes, strict=True
            )
        )
        repairs = dict.fromkeys(fault.repair for fault in faults)
        reach = self.specification.reach_min
        is_high_side = self.specification.nominal.is_high_side
        # One table, and one search, for whatever language is spoken.
        with speaking(ENGLISH):
            places = self.specification.places
        return Reasoning(
            faults=faults,
            tests=tuple(test.id for test in self.tests),
            outcomes=self.outcome,
            # The complaint seen once more is nothing abnormal that proves a cause.
            sound=tuple(
                self.outcome[0][place] if self.is_complaint(place) else word
                for place, word in enumerate(self.sound_outcome)
            ),
            reading_minutes=tuple(float(test.minutes) for test in self.tests),
            needs=tuple(test.needs for test in self.tests),
            places=tuple(
                Site(id=each.id, label=each.label, minutes=each.minutes)
                for each in places
            ),
            open=(),
            repair_minutes={
                each: wrong_repair_minutes(each, reach, is_high_side=is_high_side)
                for each in repairs
            },
        )

    def is_complaint(self, place: int) -> bool:
        """Whether a test only verifies the complaint: all its causes show the same."""
        shown = {row[place] for row in self.outcome}
        return self.tests[place].sorting == "complaint" and len(shown) == 1

    @cached_property
    def choices(self) -> tuple[tuple[str, ...], ...]:
        """Words to choose from for each test, in the order of its scale.

        Some causes show more at once; every test with an instrument offers that it
        proves nothing, so that the word does not tell which one does. A test done in a
        wrong state offers what the one that it passes for does.
        """
        ids, columns = [test.id for test in self.tests], zip(*self.outcome, strict=True)
        shown = dict(zip(ids, columns, strict=True))
        return tuple(
            _offered(test, scale, shown[LIKE.get(test.id, test.id)])
            for test, scale in zip(self.tests, self.scales, strict=True)
        )

    @property
    def plan(self) -> Plan:
        """The least-cost plan, the very one that grading follows."""
        return self.reasoning.plan

    @cached_property
    def way(self) -> tuple[tuple[int, State], ...]:
        """The planned tests on this vehicle, each with where the search then stands."""
        return tuple(self.plan.way(self.plan.start, self.actual_outcome))

    @property
    def given_tests(self) -> tuple[int, ...]:
        """Numbers of the planned tests that are done for the student.

        The last test of the plan is always the student's own.
        """
        planned = [test for test, _left in self.way]
        return tuple(planned[:-1][: self.radical.given_tests or 0])


def _offered(
    test: DiagnosticTest, scale: Scale, shown: Sequence[str]
) -> tuple[str, ...]:
    """Words of a scale, and what causes show besides."""
    # A fuse that came out adds to a word: some causes show ``expected, fuse open``.
    words = dict.fromkeys((*scale.choices, *sorted(set(shown))))
    words.pop(PROVES_NOTHING, None)
    return (*words,) if test.is_by_eye else (*words, PROVES_NOTHING)
