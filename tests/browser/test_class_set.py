"""A generated class set: worked in Notebook 7, handed in, graded by the command."""

import json

import pytest
from click.testing import CliRunner
from playwright.sync_api import expect

from answer_keys.gradebook.gradebook import Gradebook
from generator.cli import main
from generator.drawing.request import Request, Student
from generator.sets.class_set import open_key
from generator.sets.set_writing import write_class_set
from tests.browser import key_work
from tests.browser import page as student
from tests.drawn import OTHER_SECRET
from tests.keys import content_of, plan_of

# On the site a student's marks are full by day, too.
pytestmark = pytest.mark.nightly

HASTY = "bruno"


@pytest.fixture(scope="module")
def class_set(server):
    """A graded set of one exercise for one student, below the served folder."""
    request = Request(
        lessons=("mixed-diagnosis",),
        students=(Student(id=HASTY, name="Bruno"),),
        exercises=1,
        mode="graded",
    )
    return write_class_set(server.folder / "SET", request, secret=OTHER_SECRET)


@pytest.fixture(scope="module")
def record(class_set):
    """The key's record of the exercise."""
    (record,) = content_of([*open_key(class_set)[1].whole])
    return record


@pytest.fixture(scope="module")
def marks(notebook_tab, server, class_set, record):
    """Marks by step, after a student worked and handed in."""
    page, path = notebook_tab, class_set.workbook_file(HASTY).relative_to(server.folder)
    student.open_workbook(page, server, path, "notebooks")
    form = _work_hastily(page, server, path, record)
    file, lines = student.download_hand_in(page, form)
    text = "".join(json.dumps(line) + "\n" for line in lines)
    (class_set.handed_in / file).write_text(text, encoding="utf-8")
    result = CliRunner().invoke(main, ["grade", str(class_set.folder), "--json"])
    assert result.exit_code == 0, result.stderr
    assert {one["status"] for one in json.loads(result.stdout)["files"]} == {"graded"}
    return _marks(class_set)


def _marks(class_set):
    with Gradebook(class_set.results / "gradebook.sqlite") as book:
        (exercise,) = book.gradings(class_set.set_id, HASTY)[-1].exercises
    return [
        (step.step, step.item, step.mark / step.out_of if step.out_of else 1.0)
        for step in exercise.steps
    ]


def _work_hastily(page, server, path, record):
    """One wrong number, one wasteful test, a reload, the plan, and a wrong cause."""
    form = student.exercise(page, 1)
    key_work.predict(form, record, wrong=("load_current",))
    plan, everything = plan_of(record["reasoning"]), key_work.all_causes(record)
    waste = [
        plan.cost_of(everything, number) - plan.value(everything)
        for number in range(len(record["tests"]))
    ]
    worst = record["tests"][waste.index(max(waste))]
    key_work.do(form, worst)
    page.reload()
    student.wait_for_kernel(page, server, path)
    form = student.exercise(page, 1)
    # The answers are back, numbers and readings.
    expect(form.locator(".cb-answer")).to_have_count(len(record["predictions"]))
    expect(form).to_contain_text(worst["display"])
    left = plan.after(everything, waste.index(max(waste)), worst["outcome"])
    for test in key_work.planned(record, left):
        key_work.do(form, test)
    cause = next(
        key_work.option(record["causes"], "fault", one["id"])
        for one in record["reasoning"]["faults"]
        if one["repair"] != record["fault"]["repair"]
    )
    key_work.finish(form, record, cause)
    return form


def test_hasty_student_loses_the_marks_of_just_these_steps(marks):
    """A wrong number and a wasteful test cost their own marks, a wrong cause more.

    What mends another cause, and the reading after it, count only with the right one.
    """
    lost = {(step, item) for step, item, mark in marks if mark < 0.999}
    hanging = {"cause", "correction", "verification"}
    assert {step for step, _ in lost} == {"predictions", "choices", *hanging}
    assert [item for step, item in lost if step == "predictions"] == ["load_current"]
    assert len([item for step, item in lost if step == "choices"]) == 1
