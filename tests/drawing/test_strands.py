"""A few strands left: none of a load's current, whatever load and tolerances."""

import pytest

from generator.drawing.proof import unsure_tests
from generator.drawing.specification import new_specification, new_variant
from generator.drawing.stream import Stream
from generator.model.catalogue import tests as catalogue
from generator.model.catalogue.faults import FAULTS
from generator.model.diagnostics import outcomes, readings, scales
from lessons.loader import read_lesson

BOOK = read_lesson("whole-circuit")
STRANDS = [FAULTS["load_feed_strands"], FAULTS["load_ground_strands"]]


@pytest.mark.parametrize("family", BOOK.families, ids=lambda family: family.id)
def test_strands_leave_no_outcome_near_the_edge_of_none(family):
    """At either end of their ohms, on several circuits of each family."""
    for number in range(6):
        stream = Stream(bytes(32), "strands", family.id, number)
        variant = new_variant(BOOK.lesson.variants, stream)
        specification = new_specification(BOOK.lesson, family, variant, stream)
        nominal, steps = specification.nominal, specification.steps
        tests = [
            test
            for test in catalogue.tests_for(
                nominal, BOOK.lesson.tests_on(family), is_stressed=False
            )
            if "does nothing" in test.complaints
        ]
        broken = [
            fault.edit(nominal, severity)
            for fault in STRANDS
            for severity in fault.severity
        ]
        on = scales(nominal, tests, steps)
        read = readings([(each, each) for each in broken], nominal, tests, steps)
        assert unsure_tests(read.value, tests, on) == ()
        place = [test.id for test in tests].index("load_current")
        shown = outcomes(read.value[..., 0], on, broken, tests)
        assert {row[place] for row in shown} == {"none"}
