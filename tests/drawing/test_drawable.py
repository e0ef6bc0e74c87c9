"""Every fault that there is can become an exercise in one of our lessons."""

from itertools import product

import pytest

from generator.drawing.exercise_draw import new_exercise
from generator.drawing.proof import break_circuit
from generator.drawing.radical import Radical
from generator.drawing.specification import new_specification
from generator.drawing.stream import Stream
from generator.model.catalogue.faults import FAULTS
from generator.model.variant import Variant
from lessons.loader import lesson_ids, read_lesson
from tests.drawn import RADICALS, SECRET

# The rest is drawn by the tests of exercises already.
LEFT = sorted(set(FAULTS) - {radical.fault for radical in RADICALS})


def variants_of(lesson):
    """The plainest circuit, and those that differ from it in one thing."""
    allowed = lesson.variants.model_dump().items()
    changes = [{name: value} for name, values in allowed for value in values]
    return (Variant(), *(Variant(**change) for change in changes))


def places_of(fault):
    """Where a fault brings a complaint that its lesson draws."""
    for book in map(read_lesson, lesson_ids()):
        weights = book.lesson.symptoms
        if fault not in book.lesson.faults:
            continue
        able = [f for f in book.families if f.kind in FAULTS[fault].kinds]
        for family, variant in product(able, variants_of(book.lesson)):
            stream = Stream(bytes(32), "drawable", family.id)
            specification = new_specification(book.lesson, family, variant, stream)
            broken = break_circuit(book.lesson, specification, stream)
            felt = dict(zip([f.id for f in broken.faults], broken.felt, strict=True))
            if fault in felt and felt[fault] != "none" and weights.of(felt[fault]):
                yield book, family.id, variant


@pytest.mark.parametrize("fault", LEFT)
def test_fault_of_no_other_test_is_drawn_too(fault):
    """Its proof succeeds, and its complaint leaves more than one repair."""
    book, family, variant = next(places_of(fault))
    radical = Radical(
        lesson=book.lesson.id, family=family, fault=fault, variant=variant
    )
    drawn = new_exercise(book, radical, SECRET.value, ("drawable", fault))
    assert drawn.fault.id == fault
    assert len({candidate.repair for candidate in drawn.candidates}) > 1
