"""Exercises and class sets, drawn once a run: each takes a tenth of a second."""

from dataclasses import replace
from functools import cache

import pytest

from answer_keys.keys.class_secret import ClassSecret
from generator.drawing.course import read_course
from generator.drawing.exercise_draw import new_exercise
from generator.drawing.proof import break_circuit
from generator.drawing.radical import Radical
from generator.drawing.request import Request
from generator.drawing.specification import new_specification
from generator.drawing.stream import Stream
from generator.model.catalogue.faults import FAULTS
from generator.model.complaints import COMPLAINTS
from generator.model.variant import Variant
from generator.sets.roster import invented_roster
from generator.workbooks.class_workbooks import new_workbooks
from lessons.loader import read_lesson
from lessons.schema import Variants
from tests.kept import kept
from tests.keys import key_content_of, page_content_of

SECRET = ClassSecret(value=bytes(range(32)))
OTHER_SECRET = ClassSecret(value=bytes(range(1, 33)))


def plainest(book):
    """A lesson with three of its loads, each in the plainest circuit, faults alone."""
    lesson = book.lesson.model_copy(
        update={
            "faults": tuple(f.id for f in FAULTS.values() if not f.is_advanced),
            "variants": Variants(),
        }
    )
    families = [f for f in book.families if f.id in _FAMILIES]
    return replace(book, lesson=lesson, families=tuple(families))


_FAMILIES = ("cooler-fan", "wiper-heater", "tiller-lock")
BOOK = plainest(read_lesson("mixed-diagnosis"))
IDENTITY = {"set_id": "abcd2345", "student": "s01", "lesson": "mixed-diagnosis"}
PLAIN = Variant()
# Where a fault cannot happen in the plainest circuit, the one that has its part.
VARIANT_OF = {
    "control_feed_to_power": Variant(drive="high side"),
    "upstream_open": Variant(upstream="main relay"),
    "shared_ground_open": Variant(ground="shared"),
    "switch_open": Variant(switch="smart"),
    "switch_shorted": Variant(switch="smart"),
    "switch_bridged": Variant(switch="smart"),
    "command_stuck": Variant(switch="smart"),
    "sense_too_high": Variant(switch="smart"),
}


def noticed(family, variant):
    """Faults that bring a complaint on a typical circuit, by id."""
    stream = Stream(bytes(32), "noticed", family.id)
    specification = new_specification(BOOK.lesson, family, variant, stream)
    broken = break_circuit(BOOK.lesson, specification, stream)
    felt = zip(broken.faults, broken.felt, strict=True)
    return [fault.id for fault, symptom in felt if symptom in COMPLAINTS]


AT_TIMES = [name for name, fault in FAULTS.items() if fault.is_intermittent]


def is_drawn(place, fault):
    """Whether a family has a fault drawn: of those that come and go each a third."""
    return fault not in AT_TIMES or AT_TIMES.index(fault) % 3 == place


def has_relay(radical):
    """Whether contacts switch the load."""
    return radical.variant.switch == "relay"


RADICALS = tuple(
    sorted(
        (
            Radical(
                lesson="mixed-diagnosis", family=family.id, fault=fault, variant=variant
            )
            for place, family in enumerate(BOOK.families)
            for variant in dict.fromkeys((PLAIN, *VARIANT_OF.values()))
            for fault in noticed(family, variant)
            if VARIANT_OF.get(fault, PLAIN) == variant and is_drawn(place, fault)
        ),
        # Those without a relay come last.
        key=has_relay,
        reverse=True,
    )
)
"""Every fault of every family that an operator notices; at times, of one family."""


def each_fault():
    """One radical of each fault, the families in turn."""
    of_fault = {}
    for radical in RADICALS:
        of_fault.setdefault(radical.fault, []).append(radical)
    return tuple(own[n % len(own)] for n, own in enumerate(of_fault.values()))


EACH_FAULT = each_fault()
"""What every run looks at; the other families are looked at nightly."""
OTHERS = tuple(radical for radical in RADICALS if radical not in EACH_FAULT)


def others_nightly(radical):
    """A radical as a parameter: of the other ones, nightly alone."""
    marks = pytest.mark.nightly if radical in OTHERS else ()
    return pytest.param(radical, marks=marks, id=f"{radical.family}-{radical.fault}")


def for_each_radical(test):
    """Let a test hold for every radical, one run a family, most of them nightly.

    A run for each of the hundred would take longer to report than to check.
    """
    families = [family.id for family in BOOK.families]

    @pytest.mark.parametrize(
        ("family", "radicals"),
        [
            *[pytest.param(one, EACH_FAULT, id=one) for one in families],
            *[
                pytest.param(one, OTHERS, id=f"{one}-others", marks=pytest.mark.nightly)
                for one in families
            ],
        ],
    )
    def run(family, radicals):
        for radical in radicals:
            if radical.family == family:
                test(radical)

    run.__name__, run.__doc__ = test.__name__, test.__doc__
    return run


def for_each_relay(test):
    """As `for_each_radical`, for what only a circuit with a relay has."""

    def of_relay(radical):
        if has_relay(radical):
            test(radical)

    of_relay.__name__, of_relay.__doc__ = test.__name__, test.__doc__
    return for_each_radical(of_relay)


@cache
def exercise(radical):
    """One exercise of a radical, always the same."""
    number = RADICALS.index(radical)
    return kept(
        f"exercise-{number}",
        lambda: new_exercise(BOOK, radical, SECRET.value, ("s01", number)),
    )


def faded(radical, tests):
    """The same exercise with the predictions and some tests done for the student."""
    made = exercise(radical)
    return replace(made, radical=replace(radical, given_tests=tests))


@cache
def every_exercise():
    """One exercise of each fault."""
    return tuple(exercise(radical) for radical in EACH_FAULT)


for_every_exercise = pytest.mark.parametrize(
    "radicals",
    [
        pytest.param(EACH_FAULT, id="each"),
        pytest.param(OTHERS, id="others", marks=pytest.mark.nightly),
    ],
)
"""Gives a test the radicals whose exercises it looks at."""


@cache
def key(radical):
    """The answer key record of an exercise."""
    number = RADICALS.index(radical)
    return kept(f"key-{number}", lambda: key_content_of(exercise(radical), 3, IDENTITY))


@cache
def page(radical, mode):
    """What the student's page gets of an exercise."""
    number = RADICALS.index(radical)
    return kept(
        f"page-{mode}-{number}", lambda: page_content_of(exercise(radical), 3, mode)
    )


def request(mode, count=3, exercises=3):
    """A small class set."""
    return Request(
        lessons=("mixed-diagnosis",),
        students=invented_roster(count),
        exercises=exercises,
        mode=mode,
    )


@cache
def workbooks(mode, secret=SECRET, count=3):
    """The workbooks of a small class, from all that the course teaches."""

    def drawn():
        course = read_course(("mixed-diagnosis",))
        return tuple(new_workbooks(course, request(mode, count), secret))

    return kept(f"{mode}-{secret.value.hex()}-{count}", drawn)


@cache
def plain_workbooks(mode):
    """The same with plain relays alone, and what is taught before other circuits."""

    def drawn():
        course = replace(read_course(("whole-circuit",)), lessons=(BOOK,))
        return tuple(new_workbooks(course, request(mode), SECRET))

    return kept(f"plain-{mode}", drawn)


class DrawnBefore:
    """Stands for what draws a class, and has drawn it already."""

    def __init__(self, some):
        self._by_student = {workbook.student: workbook for workbook in some}

    def of(self, student):
        """The workbook of a student."""
        return self._by_student[student]
