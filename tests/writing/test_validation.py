"""Validation finds what is wrong with a class set, and nothing in a sound one."""

import copy
import json
import shutil
from functools import cache

import pytest

from generator.writing import class_set
from generator.writing.class_set import open_key, read_class_set, write_class_set
from generator.writing.validation import problems_of_exercise, problems_of_set
from tests.writing.drawn import RADICALS, SECRET, key, request


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """A class set of one student and one exercise."""
    folder = tmp_path_factory.mktemp("validation") / "set"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(class_set, "new_class_secret", lambda: SECRET)
        write_class_set(folder, request("graded", count=1, exercises=1))
    return folder


@pytest.fixture
def spoiled(written, tmp_path):
    """A copy of the set to spoil, and its one workbook."""
    folder = shutil.copytree(written, tmp_path / "set")
    return folder, next(folder.glob("for-students/s01/*.ipynb"))


def found_in(folder):
    """What validation finds in a set, by file."""
    made = read_class_set(folder)
    return problems_of_set(made, *open_key(made))


def only_problems(folder):
    """What validation finds in the only file of a set that is at fault."""
    (problems,) = filter(None, found_in(folder).values())
    return problems


def rewrite(path, change):
    """Change a workbook as JSON."""
    notebook = json.loads(path.read_text(encoding="utf-8"))
    change(notebook)
    path.write_text(json.dumps(notebook), encoding="utf-8")


def test_sound_set_runs_and_has_no_problem(written):
    """Every workbook is named and none has a problem; its cells are run for that."""
    told = []
    made = read_class_set(written)
    found = problems_of_set(made, *open_key(made), lambda *args: told.append(args))
    (workbook,) = written.glob("for-students/*/*.ipynb")
    assert found == {workbook.relative_to(written).as_posix(): []}
    assert told == [("validating workbooks", 1, 1)]


def test_one_changed_word_is_found(spoiled):
    """A workbook that differs from what the secret gives is not sound."""
    folder, path = spoiled
    path.write_text(path.read_text("utf-8").replace("Complaint", "Report"), "utf-8")
    (problem,) = only_problems(folder)
    assert "is not what its secret gives" in problem


def test_changed_workbook_is_searched_for_leaks_all_the_same(spoiled):
    """What somebody put into a workbook is named."""
    folder, path = spoiled
    rewrite(path, lambda n: n["metadata"].update(note="driver_stuck_on"))
    assert "$.metadata.note: fault id driver_stuck_on" in only_problems(folder)


def test_outputs_are_found(spoiled):
    """A workbook that was run and saved is not given out."""
    folder, path = spoiled
    output = {"output_type": "stream", "name": "stdout", "text": "hello"}
    rewrite(path, lambda n: n["cells"][-2].update(outputs=[output], execution_count=1))
    assert "cell exercise-1 has outputs; allowed are none" in only_problems(folder)


def test_unlocked_cells_are_found(spoiled):
    """Each cell must be kept from being edited and from being deleted."""
    folder, path = spoiled

    def unlock(notebook):
        notebook["cells"][0]["metadata"].pop("editable")
        notebook["cells"][1]["metadata"]["deletable"] = True

    rewrite(path, unlock)
    problems = only_problems(folder)
    assert {"cell start is not locked", "cell lesson is not locked"} <= set(problems)


def test_stored_widget_state_is_found(spoiled):
    """A workbook saved with widgets in it is not given out."""
    folder, path = spoiled
    rewrite(path, lambda n: n["metadata"].update(widgets={}))
    assert "holds stored widget state; allowed is none" in only_problems(folder)


@pytest.mark.parametrize(
    "text",
    ["x\ny", "null", '{"cells": 3}', "[" * 100_000],
)
def test_file_that_is_no_notebook_is_found(spoiled, text):
    """Any other text in place of a workbook is one problem, in one line."""
    folder, path = spoiled
    path.write_text(text, encoding="utf-8")
    (problem,) = only_problems(folder)
    assert problem.startswith("is no valid notebook: ")
    assert "\n" not in problem


def test_foreign_bytes_are_found(spoiled):
    """A workbook that is no UTF-8 text is not sound."""
    folder, path = spoiled
    path.write_bytes(b"\xff\xfe\x00")
    (problem,) = only_problems(folder)
    assert problem.startswith("cannot be read ('utf-8' codec")


def test_missing_workbook_is_found(spoiled):
    """A student without a workbook is named by the file that is not there."""
    folder, path = spoiled
    path.unlink()
    assert found_in(folder) == {path.relative_to(folder).as_posix(): ["is missing"]}


def test_stray_files_are_found(spoiled):
    """Whatever else would be given out is named, and the workbook stays sound."""
    folder, path = spoiled
    strays = [f"for-students/{name}" for name in ("key", "s01/x.jsonl", "s02/a.ipynb")]
    (folder / strays[0]).symlink_to("../for-instructor")
    (folder / strays[2]).parent.mkdir()
    for stray in strays[1:]:
        (folder / stray).write_text("x", encoding="utf-8")
    found = found_in(folder)
    assert found.pop(path.relative_to(folder).as_posix()) == []
    assert sorted(found) == strays
    assert all("remove it" in problem for (problem,) in found.values())


@cache
def sound_record():
    """The key record of a fan whose contacts have high resistance."""
    wanted = ("cooler-fan", "contacts_resistance")
    return key(next(r for r in RADICALS if (r.family, r.fault) == wanted))


def test_every_record_is_sound():
    """The proof and the readings of an exercise of each kind hold when done again."""
    assert [problems_of_exercise(key(radical)) for radical in RADICALS[::16]] == [
        [] for _ in RADICALS[::16]
    ]


def test_wrong_reading_is_found():
    """A true value that its network does not give is named with both numbers."""
    record = copy.deepcopy(sound_record())
    drop = next(t for t in record["tests"] if t["id"] == "drop_30_87")
    drop["true_value"] *= 1.001
    (problem,) = problems_of_exercise(record)
    assert problem.startswith("exercise 3: drop_30_87 reads ")


def test_misleading_reading_is_found():
    """A fault that its own readings rule out is not solvable."""
    record = copy.deepcopy(sound_record())
    record["fault"] = {"id": "coil_open", "repair": "replace_relay"}
    record["reasoning"]["faults"][0]["id"] = "coil_open"
    assert problems_of_exercise(record) == [
        "exercise 3: its own readings rule its fault out"
    ]


def test_causes_that_no_test_tells_apart_are_found():
    """Two repairs that are left after all tests are no exercise."""
    record = copy.deepcopy(sound_record())
    table = record["reasoning"]
    rows, faults = table["outcomes"], [fault["id"] for fault in table["faults"]]
    actual = rows[faults.index("contacts_resistance")]
    place = next(
        n for n, f in enumerate(table["faults"]) if f["repair"] != "replace_relay"
    )
    rows[place] = list(actual)
    assert problems_of_exercise(record) == [
        "exercise 3: 2 repairs are left after all tests; allowed is one"
    ]
