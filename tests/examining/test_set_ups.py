"""An examination serves any set-up: its page has no circuit, the room computes."""

import json

import pytest

from answer_keys.errors import RefusedError
from answer_keys.keys.set_ups import with_set_ups
from answer_keys.marking.exercise_marks import grade_exercise
from generator.examining.supervision import open_step
from tests.answer_keys.samples import RUBRIC
from tests.examining.desk_work import ending, finding, predictions
from workbook.measuring.set_up import code_of, item_of
from workbook.record.entries import ChosenTest
from workbook.record.payload import exercises_from_payload
from workbook.record.plain import record_from
from workbook.record.progress import replay
from workbook.record.readings import Reading, ReadingsKept
from workbook.record.sealed import unseal
from workbook.record.set_up import SetUp

SET_UP = SetUp(command="output test", plus="87", minus="load+")
OTHER = SetUp(command="off", relay="out", plus="87", minus="0")


def page_of(hall, number=1):
    """What lies in the student's file of an exercise."""
    [path] = (hall.folder / "for-students").rglob("*s01*.ipynb")
    notebook = json.loads(path.read_text("utf-8"))
    payload = unseal(notebook["metadata"]["clampbook"]["sealed"])
    return exercises_from_payload(payload)[number]


def choice(item, expected="expected"):
    """Choose what was set up."""
    return ChosenTest(exercise=1, item=item, expected=expected)


def test_room_computes_the_reading_of_a_set_up(hall):
    """It is that of the key, with the statements that the page does not have."""
    record, page = hall.record(), page_of(hall)
    assert page.bench.model is None
    item = item_of(OTHER, page.bench)
    marked = with_set_ups(record, [item])
    mine = hall.page().record(*predictions(record), choice(item, "none"))
    [given] = mine.send(hall.exchange())["readings"]
    assert given["display"] == marked.test(item).display
    assert [s["id"] for s in given["statements"]] == [
        s.id for s in marked.test(item).statements
    ]
    seat = hall.room.seats["s01"]
    assert "Volts" in open_step(hall.room.record_of(seat), 1)
    mine.record(finding(marked, item), *ending(record))
    mine.send(hall.exchange())
    done = replay(hall.room.record_of(seat).entries, {1: record.start})[1]
    steps = grade_exercise(marked, done, RUBRIC).steps
    [choices] = [s for s in steps if s.step == "choices" and s.item == item]
    assert choices.minutes_wasted > 0
    [found] = [s for s in steps if s.step == "findings"]
    assert found.mark == pytest.approx(RUBRIC.weights["findings"])


def test_page_shows_what_the_room_has_computed(hall, tmp_path):
    """Reading and statements stand in the exercise once they are given."""
    record, page = hall.record(), page_of(hall)
    item = code_of(OTHER)
    mine = hall.page().record(*predictions(record), choice(item, "none"))
    [given] = mine.send(hall.exchange())["readings"]
    kept = ReadingsKept(tmp_path / "readings.json")
    kept.keep(1, item, record_from(Reading, given))
    from workbook.measuring.offered import with_set_ups as on_page

    test = kept.filled(on_page(page, [item])).test(item)
    assert (test.display, len(test.statements)) == (
        given["display"],
        len(given["statements"]),
    )


def test_set_up_of_the_list_is_that_test_in_an_examination_too(hall):
    """Its reading is the one of the list."""
    page = page_of(hall)
    assert item_of(SET_UP, page.bench) == "drop_87_load"


@pytest.mark.parametrize(
    "item", ["@off volts 86 nowhere", "@off volts 86", "@test re=in volts 86 0"]
)
def test_room_refuses_what_the_circuit_does_not_have(hall, item):
    """Nothing of it is written."""
    mine = hall.page().record(*predictions(hall.record()), choice(item, "none"))
    with pytest.raises(RefusedError, match="set-up that the circuit"):
        mine.send(hall.exchange())
    assert not [*hall.room.folder.glob("journal-*.jsonl")]
