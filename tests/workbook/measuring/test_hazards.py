"""Whoever sets a test up is warned of no less than whoever takes it from the list."""

import re

import pytest

from generator.drawing.exercise_draw import new_exercise
from generator.drawing.radical import Radical
from generator.model.catalogue.tests import TESTS
from generator.workbooks.bench_records import bench_of
from generator.workbooks.page_records import page_record
from tests.drawn import SECRET
from tests.workbook.measuring.set_ups import SHARED_GROUND, SMART, bench_and_exercise
from tests.workbooks.test_safety import BOOK, FAMILIES
from workbook.measuring.hazards import cautions_of
from workbook.measuring.set_up import set_up_of
from workbook.record.set_up import SetUp

AS_IT_CAME = SetUp()


def cautions(code, bench, before=AS_IT_CAME):
    """What a code warns of, joined."""
    return " ".join(cautions_of(before, set_up_of(code, bench), bench))


@pytest.mark.parametrize("number", [*range(6), SHARED_GROUND, *SMART])
def test_set_up_warns_of_all_that_the_list_does(number):
    """Every caution of a listed test stands at the set-up that it is."""
    bench, exercise = bench_and_exercise(number)
    listed = {each.id: each for each in page_record(exercise, 1, "practice").tests}
    for code, item in bench.listed.items():
        own = cautions_of(AS_IT_CAME, set_up_of(code, bench), bench)
        # What is done in the wrong state warns as if it were done rightly.
        assert item not in TESTS or {*listed[item].hazards} <= {*own}, code


def test_what_drives_a_load_names_first_what_it_overrides():
    """A family's own securing is said where the load is switched on normally, too."""
    family = next(each for each in FAMILIES.values() if each.secure)
    radical = Radical(lesson=BOOK.lesson.id, family=family.id, fault="contacts_open")
    bench = bench_of(new_exercise(BOOK, radical, SECRET.value, ("safety", family.id)))
    assert bench.secured == (family.secure,)
    for code in ("@test volts 87 0", "@off re=jumper volts 87 0"):
        own = cautions_of(AS_IT_CAME, set_up_of(code, bench), bench)
        assert own[:2] == (*bench.driven, family.secure)
        assert "override the enable inputs" in own[0]
    normal = cautions_of(AS_IT_CAME, set_up_of("@normal volts 87 0", bench), bench)
    assert normal[0] == family.secure
    off = cautions_of(AS_IT_CAME, set_up_of("@off volts 87 0", bench), bench)
    assert not {*bench.driven, *bench.secured} & {*off}


def test_hands_at_the_load_come_after_engine_and_key():
    """Ohms at its pins, its plug drawn or put back; not a reading beside it."""
    bench, _ = bench_and_exercise(0)
    unplugged = SetUp(load_connector="out")
    for code, before in (
        ("@off ohms load+ 0", AS_IT_CAME),
        ("@off lc=out volts 87 0", AS_IT_CAME),
        ("@off volts 87 0", unplugged),
    ):
        assert "Engine stopped, key out" in cautions(code, bench, before)
    assert "Engine stopped" not in cautions("@off lc=out volts 87 0", bench, unplugged)
    assert "before an ohmmeter" in cautions("@off ohms 86 0", bench)
    assert "before an ohmmeter" not in cautions("@off volts 86 0", bench)


@pytest.mark.parametrize("part", ["lf=out", "re=out", "re=jumper", "lc=out"])
def test_what_is_pulled_under_load_arcs(part):
    """Fuse, relay or plug."""
    bench, _ = bench_and_exercise(0)
    assert "under load arcs" in cautions(f"@test {part} volts 86 0", bench)
    assert "under load arcs" not in cautions("@test volts 86 0", bench)


def test_plug_of_a_neighbour_is_pulled_as_that_of_the_load():
    """It lies beside it, and may carry the load's current."""
    bench, _ = bench_and_exercise(SHARED_GROUND)
    for words in ("Engine stopped, key out", "under load arcs"):
        assert words in cautions("@test ne=out volts 86 0", bench)
        assert words not in cautions("@test volts 86 0", bench)


@pytest.mark.parametrize("number", SMART)
def test_smart_switch_has_cautions_of_its_own(number):
    """Its module sleeps before it is unplugged, and no relay is spoken of."""
    bench, exercise = bench_and_exercise(number)
    module = exercise.specification.names.module
    past = cautions("@off lf=lead mo=jumper clamp load_fuse 10", bench)
    assert f"Bridge only B1 and Q1 in the plug of {module}" in past
    assert "once it sleeps" in past
    assert "plug pulled under load arcs" in past
    assert f"unplug {module} first" in past
    assert "can come back with the next command" in cautions("@test volts 87 0", bench)
    assert "can come back" not in cautions("@off volts 87 0", bench)
    assert "terminals of the plug" in cautions("@off mo=out volts 87 0", bench)
    for code in (
        "@test lf=lead volts 87 0",
        "@off mo=out ohms 87 0",
        "@off lf=out volts 30 0",
    ):
        assert not re.search(r"\b(relay|coil|socket)\b", cautions(code, bench)), code
