"""The component families: a whole fleet, and every one of them can be drawn."""

from collections import Counter
from typing import get_args

import pytest

from generator.drawing.exercise_draw import new_exercise
from generator.drawing.radical import Radical
from generator.model.complaints import COMPLAINTS
from generator.model.instruments import CLAMP_10
from generator.model.places import USUAL
from generator.model.variant import LoadKind, Variant
from lessons.family import _WITHOUT_MECHANISM
from lessons.loader import LESSONS_FOLDER, read_lesson

BOOK = read_lesson("whole-circuit")
FAMILIES = {family.id: family for family in BOOK.families}
# One fault that every family can have, in a circuit of a different kind each.
DRAWN = (
    ("coil_open", Variant()),
    ("control_feed_to_power", Variant(drive="high side", upstream="main relay")),
    ("load_wire_resistance", Variant(fuses="shared", coil_supply="85", terminals=5)),
    ("load_ground_open_at_times", Variant(supply="battery only", overload="shuts off")),
)
# Loads that do not turn, so that one that does no work is not heard either.
STILL = (*_WITHOUT_MECHANISM, "solenoid valve")


def complaints_of(family):
    """All complaints of a family."""
    by_kind = family.complaint.model_dump().values()
    return [text for texts in by_kind for text in texts]


def test_whole_fleet_is_in_the_last_lesson():
    """At least fourteen families, each in a file of its own name."""
    files = {path.stem for path in (LESSONS_FOLDER / "parts").glob("*.toml")}
    assert set(FAMILIES) == files, "name it in lessons/whole-circuit/lesson.toml"
    assert len(files) >= 14


def test_fleet_has_every_kind_of_load():
    """Each kind of load has two families at least, and three are on 24 V at least."""
    kinds = Counter(family.kind for family in FAMILIES.values())
    assert set(kinds) == set(get_args(LoadKind))
    assert min(kinds.values()) >= 2
    assert sum(family.system_v == 24 for family in FAMILIES.values()) >= 3


def test_some_coils_have_a_diode():
    """Both kinds of suppression occur."""
    kinds = {kind for f in FAMILIES.values() for kind in f.ranges.suppression}
    assert kinds == {"resistor", "diode"}


@pytest.mark.parametrize("family", FAMILIES.values(), ids=FAMILIES)
def test_family_has_two_complaints_of_each_kind(family):
    """So that two students rarely read the same words."""
    for symptom in COMPLAINTS:
        texts = [text for _, text in family.complaint.said(symptom)]
        assert len(texts) >= 2
        assert all(text.endswith(".") for text in texts)


# Words of an operator that fit some causes alone.
SHAKEN = (
    "bump",
    "shake",
    "jolt",
    "cobbles",
    "rough",
    "mogul",
    "kick",
    "leans",
    "rocks",
)
WARMED = ("warmed up", "after an hour", "coffee", "over lunch")
SILENT = ("heard", "no sound", "never starts", "stands still")


@pytest.mark.parametrize("family", FAMILIES.values(), ids=FAMILIES)
def test_words_that_fit_some_causes_alone_stand_apart(family):
    """What fits every cause speaks of no shaking, no warmth and no silence."""
    for text in family.complaint.comes_and_goes:
        assert not any(word in text for word in (*SHAKEN, *WARMED)), text
    for text in family.complaint.does_nothing:
        assert family.kind in STILL or not any(word in text for word in SILENT), text


@pytest.mark.parametrize("family", FAMILIES.values(), ids=FAMILIES)
def test_enable_inputs_are_those_of_an_engine_that_runs_or_stands(family):
    """Nobody asks for a running engine in a vehicle whose battery is alone."""
    inputs = " ".join(family.enable)
    if "engine stopped" in inputs:
        assert family.supply == ("battery only",)
    if any(words in inputs for words in ("engine running", "rpm", "supply above")):
        assert family.supply == ("charging",)


@pytest.mark.parametrize("family", FAMILIES.values(), ids=FAMILIES)
def test_family_draws_a_current_that_the_clamp_reads(family):
    """Far below the end of its 10 mV/A scale, and far above what it may be off."""
    low, high = family.ranges.rated_a
    assert high * 1.3 < CLAMP_10.range_a
    assert CLAMP_10.limit(low) + CLAMP_10.noise_a < 0.05 * low


def test_all_complaints_differ():
    """No operator says what another has said."""
    said = [text for family in FAMILIES.values() for text in complaints_of(family)]
    assert len(said) == len(set(said))


@pytest.mark.parametrize("family", FAMILIES.values(), ids=FAMILIES)
def test_texts_have_no_braces(family):
    """Texts are filled with names in braces later on."""
    for text in (family.load, family.work, *complaints_of(family), *family.enable):
        assert "{" not in text
        assert "}" not in text


@pytest.mark.parametrize("family", FAMILIES.values(), ids=FAMILIES)
def test_a_fuse_of_the_series_suits_the_load(family):
    """The largest blade fuse of 40 A is 1.3 times the current at least."""
    assert 1.0 < family.ranges.rated_a[0] < family.ranges.rated_a[1] < 28


@pytest.mark.parametrize("number", range(len(FAMILIES)), ids=FAMILIES)
def test_an_exercise_of_the_family_can_be_drawn(number):
    """Each with another fault and in another variant than its neighbours."""
    fault, variant = DRAWN[number % len(DRAWN)]
    family = list(FAMILIES)[number]
    radical = Radical(
        lesson="whole-circuit", family=family, fault=fault, variant=variant
    )
    drawn = new_exercise(BOOK, radical, bytes(32), ("family",))
    assert drawn.fault.id == fault
    assert drawn.complaint in complaints_of(FAMILIES[family])


@pytest.mark.parametrize("family", BOOK.families, ids=lambda family: family.id)
def test_family_says_where_all_its_places_are(family):
    """In words of its machine, the pins of a seated relay further than its fuses."""
    for place, usual in USUAL.items():
        own = family.places.of(place)
        assert own.where != usual.where
        assert 1 <= own.minutes[0] <= own.minutes[1] <= 15
    assert (
        family.places.of("relay_pins").minutes[0]
        > (family.places.of("fuse_box").minutes[1])
    )
