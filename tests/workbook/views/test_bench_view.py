"""What can be set up on a page, what it is said to take, and where it is recorded."""

from dataclasses import replace
from functools import cache

import pytest

from generator.drawing.wording import with_marks
from tests.drawn import EACH_FAULT, IDENTITY, exercise
from tests.keys import page_content_of
from tests.workbook.steps import parts, predict, send
from workbook.page.clerk import Clerk
from workbook.page.finder import Notebook
from workbook.page.session import KernelSession
from workbook.record.payload import exercises_from_payload
from workbook.record.set_up import PARTS
from workbook.texts import speaking

FAULT = "load_wire_open"
PLAIN = {
    "command": "output test",
    "control_fuse": "in",
    "load_fuse": "in",
    "relay": "in",
    "load_connector": "in",
    "module": "in",
    "harness": "at rest",
}
VOLTS = {"instrument": "volts", "range": "auto"}
CLAMP = {"instrument": "clamp", "back": "", "zero": "zeroed"}


def radical():
    """What the exercise is drawn from: it has two fuses."""
    return next(
        each
        for each in EACH_FAULT
        if each.fault == FAULT and each.variant.fuses == "two"
    )


@cache
def record(mode="practice"):
    """A page record of one drawn exercise."""
    content = page_content_of(exercise(radical()), 1, mode)
    return exercises_from_payload({"exercises": [content]})[1]


def clerk_of(folder, own, mode="practice"):
    """A clerk on a workbook that has this exercise alone, its numbers predicted."""
    notebook = Notebook(
        path=folder / "w.ipynb",
        set_id=IDENTITY["set_id"],
        student=IDENTITY["student"],
        edition=1,
        mode=mode,
        title="",
        exercises={1: own},
    )
    made = Clerk(KernelSession(notebook, folder))
    for asked in own.predictions:
        predict(made, asked.id, f"1.00 {asked.unit}")
    return made


@pytest.fixture
def clerk(tmp_path):
    """A clerk at the first choice of a test."""
    return clerk_of(tmp_path, record())


def asked(clerk, **set_up):
    """What a page is told of a set-up."""
    return send(clerk, "measure", set_up={**PLAIN, **set_up})


def done(clerk, **set_up):
    """Measure a set-up, and say something to its reading."""
    told = asked(clerk, **set_up)
    item, word = told["item"], told["expected"][0]["value"]
    assert send(clerk, "test", item, expected=word)["status"] == "recorded"
    test = clerk.session.exercise(1).test(item)
    said = {"outcome": test.outcomes[0], "statement": test.statements[0].id}
    assert send(clerk, "finding", item, **said)["status"] == "recorded"
    return test


def field(clerk):
    """What the form of set-ups holds."""
    form = next(p for k, p in parts(clerk).items() if k.startswith("bench"))
    return form["fields"][0]


def test_menus_offer_what_the_circuit_has_and_signs_show_it(clerk):
    """Every part, point and wire; each value that changes something has its signs."""
    bench, shown = record().bench, field(clerk)
    menus = {menu["name"]: menu for menu in shown["menus"]}
    lacking = {*PARTS} - {part.id for part in bench.parts}
    assert {*menus} >= {*shown["state"]} - {"look"} - lacking
    for part in bench.parts:
        values = [each["value"] for each in menus[part.id]["options"]]
        assert values[0] == "in"
        assert all(f"{part.id}={value}" in shown["signs"] for value in values[1:])
    assert [each["value"] for each in menus["plus"]["options"]] == [
        point.id for point in bench.points
    ]
    spots = {spot.id for spot in record().circuit.spots}
    assert {at for signs in shown["signs"].values() for _kind, at in signs} <= spots


def test_pointing_sets_what_the_menus_have(clerk):
    """At every spot; what is set is a value of a menu that its instrument has."""
    shown, offers = field(clerk), clerk.view(1)["beside"]["offers"]
    assert offers.keys() <= {spot.id for spot in record().circuit.spots}
    moves = [move for offer in offers.values() for move in offer["moves"]]
    assert len(moves) > 40
    for move in moves:
        instrument = move["instruments"][:1]
        for name, value in move["sets"].items():
            known = [
                option["value"]
                for menu in shown["menus"]
                if menu["name"] == name
                and (not menu.get("of") or menu["of"] >= instrument)
                for option in menu["options"]
            ]
            assert value in known, (name, value)


@pytest.mark.parametrize(
    ("set_up", "says"),
    [
        (VOLTS, "Choose where the plus lead goes."),
        ({**VOLTS, "plus": "86"}, "Choose where the minus lead goes."),
        ({**VOLTS, "plus": "86", "minus": "86"}, "two different points"),
        (CLAMP, "Choose what the clamp is closed around."),
        ({**CLAMP, "wire": "load_fuse"}, "Choose the scale of the clamp."),
        ({"instrument": "eye", "look": ""}, "Choose what to look at."),
        ({"instrument": "barometer"}, "Choose where the plus lead goes."),
    ],
)
def test_what_is_missing_is_said_one_by_one(clerk, set_up, says):
    """In a sentence, and nothing is recorded."""
    told = asked(clerk, **set_up)
    assert told["status"] == "refused"
    assert says in told["text"]
    assert not clerk.session.progress(1).tests


def test_minutes_say_places_changes_and_reading(clerk):
    """As they stand: a place is reached once, and what is pulled stays pulled."""
    contacts = {**VOLTS, "plus": "30", "minus": "87"}
    told = asked(clerk, **contacts, relay="out")
    places = {place.id: place for place in record().places}
    assert f" and {places['relay'].label}; 1 to pull " in told["minutes"]
    assert done(clerk, **contacts, relay="out").is_own
    after = asked(clerk, **VOLTS, plus="87", minus="0", relay="out")
    assert "reach" not in after["minutes"].replace(places["battery"].label, "")
    assert "pull" not in after["minutes"]
    back = asked(clerk, **VOLTS, plus="30", minus="0")
    assert " to put " in back["minutes"]
    assert field(clerk)["state"] == {
        **field(clerk)["state"],
        "relay": "out",
        "plus": "30",
        "minus": "87",
    }


def test_set_up_that_is_a_test_of_the_list_is_that_test(clerk):
    """By its id, title and minutes; the list has it no more afterwards."""
    told = asked(clerk, **CLAMP, load_fuse="lead", wire="load_fuse", scale="10")
    assert told["item"] == "load_current"
    assert told["title"] == record().test("load_current").title
    test = done(clerk, **CLAMP, load_fuse="lead", wire="load_fuse", scale="10")
    assert not test.is_own
    again = asked(clerk, **CLAMP, load_fuse="lead", wire="load_fuse", scale="10")
    assert again["status"] == "refused"
    assert "already" in again["text"]


def test_what_is_looked_at_is_one_of_the_list(clerk):
    """Eye and scan tool: each once, by its id."""
    told = asked(clerk, instrument="eye", look="look_load_fuse")
    assert told["item"] == "look_load_fuse"
    done(clerk, instrument="eye", look="look_load_fuse")
    looks = [menu for menu in field(clerk)["menus"] if menu["name"] == "look"]
    ids = [option["value"] for menu in looks for option in menu["options"]]
    assert "look_control_fuse" in ids
    assert "look_load_fuse" not in ids
    refused = asked(clerk, instrument="scan tool", look="look_control_fuse")
    assert refused["status"] == "refused"


def test_graded_set_has_its_list_alone(tmp_path):
    """Its file holds no circuit; a set-up is refused."""
    clerk = clerk_of(tmp_path, record("graded"), "graded")
    assert not any(key.startswith("bench") for key in parts(clerk))
    assert parts(clerk)["choose"]["fold"] is None
    told = asked(clerk, **VOLTS, plus="86", minus="0")
    assert "Here only the tests of the list" in told["text"]


def test_exercise_without_a_list_offers_set_ups_alone(tmp_path):
    """Also where it is pointed at; what is seen by eye is offered as a set-up."""
    clerk = clerk_of(tmp_path, replace(record(), is_unlisted=True))
    assert "choose" not in parts(clerk)
    offers = clerk.view(1)["beside"]["offers"]
    assert not any(offer["tests"] for offer in offers.values())
    assert any(
        move["sets"].get("look") == "look_load_fuse"
        for move in offers["load_fuse"]["moves"]
    )


def test_codes_are_alike_in_all_languages():
    """A workbook in German writes its numbers with commas, and ids as all others."""
    with speaking("de"):
        german = with_marks(page_content_of(exercise(radical()), 1, "practice"))
    bench = exercises_from_payload({"exercises": [german]})[1].bench
    own = record().bench
    for name in ("ranges", "scales", "listed", "commanded_at"):
        assert getattr(bench, name) == getattr(own, name)
    ids = [[each.id for each in one.points + one.wires] for one in (bench, own)]
    assert ids[0] == ids[1]


def test_own_reading_is_told_in_the_language_and_shown_on_the_diagram(clerk):
    """Its display has the decimal mark; what was put where stays till the finding."""
    with speaking("de"):
        told = asked(clerk, **VOLTS, plus="86", minus="85", relay="out")
        word = told["expected"][0]["value"]
        send(clerk, "test", told["item"], expected=word)
        view = clerk.view(1)
    parts_shown = {p["key"]: p for s in view["sections"] for p in s["parts"]}
    assert "," in parts_shown[f"reading:{told['item']}"]["display"]
    assert {"plus", "minus", "out"} <= {kind for kind, _ in view["beside"]["shown"]}


def test_examination_offers_set_ups_without_any_circuit(tmp_path):
    """The page waits for the reading as for one of the list."""
    own = record("examination")
    assert own.bench.model is None
    clerk = clerk_of(tmp_path, own, "examination")
    told = asked(clerk, **VOLTS, plus="86", minus="85", relay="out")
    word = told["expected"][0]["value"]
    sent = send(clerk, "test", told["item"], expected=word)
    assert sent["status"] == "recorded"
    assert not any(key.startswith(("bench", "finding")) for key in parts(clerk))
    assert {"plus", "minus", "out"} <= {
        kind for kind, _ in clerk.view(1)["beside"]["shown"]
    }
