"""Our own lessons and component families hold what they promise."""

import re
from typing import get_args

import pytest

from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.variant import LoadKind
from lessons.loader import LESSONS_FOLDER, lesson_ids, read_lesson

LESSONS = lesson_ids()
FAMILIES = sorted(path.stem for path in (LESSONS_FOLDER / "parts").glob("*.toml"))


def texts_of(value):
    """Every text in a record, however deep."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for one in value.values():
            yield from texts_of(one)
    elif isinstance(value, list | tuple):
        for one in value:
            yield from texts_of(one)


def families_of(name):
    return read_lesson(name).families


def test_there_are_lessons_and_each_family_is_used():
    """No file lies about that nothing reads."""
    assert LESSONS
    assert {f.id for name in LESSONS for f in families_of(name)} == set(FAMILIES)


@pytest.mark.parametrize("name", LESSONS)
def test_lesson_is_named_like_its_folder(name):
    """The name on the command line is the name in the file."""
    assert read_lesson(name).lesson.id == name


@pytest.mark.parametrize("name", LESSONS)
def test_lesson_has_a_text_and_aims(name):
    """Something to read before the first exercise, with no heading of its own."""
    book = read_lesson(name)
    assert len(book.text.split()) > 50
    assert not book.text.startswith("#")
    assert all(aim.endswith(".") for aim in book.lesson.aims)


@pytest.mark.parametrize("name", LESSONS)
def test_lesson_marks_add_up_to_a_hundred(name):
    """Our rubrics are in percent."""
    assert sum(read_lesson(name).lesson.rubric.model_dump().values()) == 100


@pytest.mark.parametrize("name", LESSONS)
def test_half_of_a_double_fault_does_not_tell_the_other(name):
    """The half that is found first is on the list by itself, too.

    Else an open fuse would prove a ground that nobody measured.
    """
    faults = read_lesson(name).lesson.faults
    doubles = [fault for fault in faults if "_and_" in fault]
    assert all(double.partition("_and_")[0] in faults for double in doubles)


def test_all_stands_for_the_whole_catalogue():
    """Alone it is every common fault and every test; in a list more may follow."""
    common = tuple(fault.id for fault in FAULTS.values() if not fault.is_advanced)
    lesson = read_lesson("whole-circuit").lesson
    assert lesson.faults == common
    assert lesson.tests == tuple(TESTS)
    mixed = read_lesson("mixed-diagnosis").lesson.faults
    assert mixed[: len(common)] == common
    assert {*mixed} > {*common}


def test_lessons_cover_every_kind_of_load():
    """The first lesson has some of them, the whole fleet has all."""
    first, *_ = LESSONS
    kinds = {f.kind for name in LESSONS for f in families_of(name)}
    assert {family.kind for family in families_of(first)} < kinds
    assert kinds == set(get_args(LoadKind))


@pytest.mark.parametrize("name", LESSONS)
def test_texts_have_no_braces_and_no_markup(name):
    """Names go into texts with braces, into tables and into a drawing."""
    for family in families_of(name):
        for text in texts_of(family.model_dump()):
            assert not re.search(r"[{}<>|`\n]", text)


@pytest.mark.parametrize("name", LESSONS)
def test_designations_of_a_circuit_never_meet(name):
    """Both fuses, relay and module can be told apart in every draw."""
    for family in families_of(name):
        names = family.names
        kinds = (names.control_fuse, names.load_fuse, names.relay, names.module)
        drawn = [one for kind in kinds for one in kind]
        assert len(drawn) == len(set(drawn))


@pytest.mark.parametrize("name", LESSONS)
def test_coils_draw_what_small_relays_draw(name):
    """On 12 V some 50 to 120 Ω, on 24 V four times the ohms about (trade practice)."""
    limits = {12: (50, 120, 300, 1000), 24: (280, 360, 1000, 1500)}
    for family in families_of(name):
        low, high, least, most = limits[family.system_v]
        assert low <= family.ranges.coil_ohm[0] <= family.ranges.coil_ohm[1] <= high
        assert all(least <= ohms <= most for ohms in family.ranges.suppression_ohm)
