"""What a practice workbook says: a text for everything that can come, and true."""

import json
import re
from dataclasses import replace
from functools import cache

import pytest

from generator.model.catalogue import tests as catalogue
from generator.model.catalogue.faults import FAULTS
from generator.model.diagnostics import outcomes, readings, scales
from generator.workbooks.feedback import _MEANS, feedback_of
from generator.workbooks.offered import codes_of
from generator.workbooks.statements import statements_in
from tests.circuits import HEATER, STEPS, broken_pair
from tests.drawn import (
    BOOK,
    EACH_FAULT,
    RADICALS,
    exercise,
    for_each_radical,
    for_every_exercise,
    others_nightly,
    page,
)

FAMILIES = [family.id for family in BOOK.families]
LOW_SUPPLY = next(each for each in EACH_FAULT if each.fault == "supply_low")
OF_LOADS = ("load_turns_shorted", "load_turns_shorted_fuse_too_large")
UNFIT = re.compile(r"[{}]|\b(?:None|nan|inf|Infinity|True|False)\b|\bcontrol_|  |\.\.")
AMOUNT = re.compile(r"(-?\d[\d.]*) (µ|m|k|M|)([AVΩ])")
PREFIX = {"µ": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "M": 1e6}


def amounts_in(text):
    """Quantities in a text, in the base unit."""
    return [(float(n) * PREFIX[p], unit) for n, p, unit in AMOUNT.findall(text)]


@cache
def drawn(family):
    """One exercise of a family."""
    return exercise(next(r for r in EACH_FAULT if r.family == family))


def reading_as(made, turn):
    """The exercise with each test showing one of its words, in turn."""
    words = tuple(scale.choices[turn % len(scale.choices)] for scale in made.scales)
    return replace(made, outcome=(words,) * len(made.candidates))


def texts_in(value):
    """Every text of a feedback record."""
    if isinstance(value, dict):
        return [text for inner in value.values() for text in texts_in(inner)]
    if isinstance(value, list):
        return [text for inner in value for text in texts_in(inner)]
    return [value] if isinstance(value, str) else []


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("turn", range(5))
def test_every_outcome_of_every_test_has_a_text(family, turn):
    """Whatever word a test can show, the page has a sentence for it."""
    made = reading_as(drawn(family), turn)
    tests = feedback_of(made, codes_of(made), statements_in(made)).tests
    assert set(tests) == {test.id for test in made.tests}
    for said, word in zip(tests.values(), made.actual_outcome, strict=True):
        assert said.outcome == word
        assert re.search(r"[A-Z].{15,}[.?]$", said.text)


@pytest.mark.parametrize("family", FAMILIES)
def test_every_cause_of_a_complaint_gets_its_conclusion(family):
    """Whichever candidate is the fault, what cures it is called right."""
    made = drawn(family)
    codes = codes_of(made)
    for fault in made.candidates:
        broken = replace(made, fault=fault)
        said = feedback_of(broken, codes, statements_in(made)).conclusion
        assert codes[fault.id] in said.causes
        assert said.correction == codes[fault.repair]
        same = {codes[f.id] for f in made.candidates if f.repair == fault.repair}
        assert said.causes == same


@pytest.mark.parametrize("radical", [others_nightly(one) for one in RADICALS])
def test_texts_are_whole_sentences(radical):
    """No text has an unfilled name, a value that is none, or doubled marks."""
    texts = texts_in(page(radical, "practice"))
    assert len(texts) > 200
    assert [text for text in texts if UNFIT.search(text) and " " in text] == []


@for_every_exercise
def test_amounts_agree_with_the_display(radicals):
    """What a clamp's display is turned into is that display over the scale."""
    turned = 0
    for made in map(exercise, radicals):
        said = feedback_of(made, codes_of(made), statements_in(made)).tests
        for test, reading in zip(made.tests, made.readings, strict=True):
            match = re.match(r"(.+) ÷ (\d+) mV/A is (.+?)\. ", said[test.id].text)
            if match:
                ((shown, _),), ((amount, unit),) = map(amounts_in, match.group(1, 3))
                assert match[1] == reading.display
                assert unit == "A"
                assert amount == pytest.approx(shown * 1e3 / int(match[2]), rel=0.005)
                turned += 1
    assert turned > 100


@for_every_exercise
def test_clamp_reading_is_turned_into_amperes_where_current_flows(radicals):
    """Every current test with a display above nothing says how many amperes it is."""
    for made in map(exercise, radicals):
        said = feedback_of(made, codes_of(made), statements_in(made)).tests
        for test, word in zip(made.tests, made.actual_outcome, strict=True):
            if test.mistake:
                continue
            is_turned = "÷" in said[test.id].text
            flows = word.partition(",")[0] not in ("none", "over limit")
            assert is_turned == (test.measure.clamp is not None and flows)


def test_sound_text_gives_the_band_that_the_outcome_is_judged_by():
    """The numbers of the sound text are the edges of the test's band."""
    for made in map(drawn, FAMILIES):
        said = feedback_of(made, codes_of(made), statements_in(made)).tests
        for test, scale in zip(made.tests, made.scales, strict=True):
            for value, unit in amounts_in(said[test.id].sound_text):
                # What counts as none is told, too.
                ends = [*scale.band, scale.edges[0]]
                if unit == "V" and test.measure.clamp:
                    ends = [end * test.measure.clamp.scale_v_per_a for end in ends]
                assert any(value == pytest.approx(end, rel=0.006) for end in ends)


def test_sound_text_of_a_load_current_says_below_what_there_is_none():
    """By hand: 8 % of the middle of the band, in amperes."""
    for made in map(drawn, FAMILIES):
        said = feedback_of(made, codes_of(made), statements_in(made)).tests
        [(low, _), (high, _), *_volts, (none, unit)] = amounts_in(
            said["load_current"].sound_text
        )
        assert said["load_current"].sound_text.endswith("counts as none.")
        assert unit == "A"
        assert none == pytest.approx(0.08 * (low + high) / 2, rel=0.01)


@for_every_exercise
def test_fits_hold_the_right_cause_and_not_all(radicals):
    """Each reading fits the fault itself, and most workbooks have one that decides."""
    for made in map(exercise, radicals):
        codes = codes_of(made)
        tests = feedback_of(made, codes, statements_in(made)).tests.values()
        assert all(codes[made.fault.id] in said.fits for said in tests)
        assert any(len(said.fits) < len(made.candidates) for said in tests)


@for_each_radical
def test_page_alone_leads_to_the_right_repair(radical):
    """Causes that fit every reading of the page share the one right correction."""
    feedback = json.loads(json.dumps(page(radical, "practice")))["feedback"]
    fits = [set(said["fits"]) for said in feedback["tests"].values()]
    left = set.intersection(*fits)
    assert left
    assert left <= set(feedback["conclusion"]["causes"])


def test_no_outcome_names_what_only_some_loads_have():
    """Heaters and lamps have no turns, and a wrong relay has lost none of its own."""
    said = " ".join((*_MEANS.values(), *(FAULTS[name].title for name in OF_LOADS)))
    assert not re.search(r"\bturns\b|winding", said)


@pytest.mark.parametrize("fault", ["load_open", "load_wire_to_power"])
def test_lamp_at_87_stays_dark_without_a_path_and_where_another_wire_feeds_it(fault):
    """Both read the supply: of a load that runs none may say that its path is open."""
    pair = broken_pair(HEATER, fault)
    [test] = [*catalogue.tests_for(HEATER, ["socket_87_lamp"], is_stressed=False)]
    value = readings([pair], HEATER, [test]).value[..., 0]
    [[word]] = outcomes(value, scales(HEATER, [test], STEPS), [pair[0]], [test])
    assert word == "supply voltage"
    said = _MEANS["to ground", word]
    assert "no path" in said
    assert "something else feeds" in said


def test_current_that_stops_with_the_neighbour_accuses_the_ground_point():
    """Of a plain load current the same word says that the path is open."""
    radical = next(each for each in EACH_FAULT if each.fault == "shared_ground_open")
    tests = page(radical, "practice")["feedback"]["tests"]
    assert tests["load_current"]["outcome"] == "low"
    assert tests["load_current_neighbour_out"]["outcome"] == "none"
    assert "back through it" in tests["load_current_neighbour_out"]["text"]


def test_low_supply_is_among_what_its_own_readings_accuse():
    """Nothing lies before the battery, and both circuits draw too little there."""
    tests = page(LOW_SUPPLY, "practice")["feedback"]["tests"]
    said = {name: tests[name]["text"] for name in ("socket_30", "load_current")}
    assert {tests[name]["outcome"] for name in said} == {"low"}
    assert all("supply" in text and "low" in text for text in said.values())
    at_battery = tests["supply_at_battery"]
    assert at_battery["outcome"] == "low"
    assert "battery" in at_battery["text"]
    assert "before" not in at_battery["text"]
