"""Validation finds what is wrong with a class set, and nothing in a sound one."""

import json
import shutil
from contextlib import nullcontext
from dataclasses import replace

import pytest

from answer_keys.keys.sealing import write_sealed_key
from generator.checking import validation
from generator.checking.paper_check import PaperCheck
from generator.checking.running import Runner
from generator.checking.validation import SetCheck, _agree, validate_set
from generator.drawing.difficulty import ClassDifficulty
from generator.sets import set_writing
from generator.sets.class_set import open_key, read_class_set
from generator.sets.set_writing import rebuilt_workbooks, write_class_set
from tests.drawn import SECRET, DrawnBefore, request
from tests.keys import content_of, pack_content
from workbook.record.sealed import seal


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """A class set of one student and one exercise."""
    folder = tmp_path_factory.mktemp("validation") / "set"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(set_writing, "new_class_secret", lambda: SECRET)
        write_class_set(folder, request("graded", count=1, exercises=1))
    return folder


@pytest.fixture(scope="module")
def runner():
    """One kernel for the sets of all tests, as there is one for all workbooks."""
    with Runner() as running:
        yield running


@pytest.fixture(autouse=True)
def one_kernel(runner, monkeypatch):
    """Start no kernel for each set anew."""
    monkeypatch.setattr(validation, "Runner", lambda: nullcontext(runner))


@pytest.fixture
def spoiled(written, tmp_path):
    """A copy of the set to spoil, and its one workbook."""
    folder = shutil.copytree(written, tmp_path / "set")
    return folder, next(folder.glob("for-students/s01/*.ipynb"))


def found_in(folder):
    """What validation finds in a set."""
    return validated(read_class_set(folder))


AGAIN = {}


def again(made, secret):
    """What the secret of a set gives: once for all copies that ask for the same."""
    asked = made.set_id, repr(made.request), secret
    if asked not in AGAIN:
        AGAIN[asked] = tuple(rebuilt_workbooks(made, secret))
    return AGAIN[asked]


def validated(made, progress=lambda *_: None):
    """A set checked against itself, drawn again."""
    secret, key = open_key(made)
    check = SetCheck(
        class_set=made,
        secret=secret,
        key=key,
        again=DrawnBefore(again(made, secret)),
        paper=PaperCheck.of(made, secret.value, key),
    )
    return validate_set(check, progress)


def only_problems(folder):
    """What validation finds in the only file of a set that is at fault."""
    (problems,) = filter(None, found_in(folder).workbooks.values())
    return problems


def rewrite(path, change):
    """Change a workbook as JSON."""
    notebook = json.loads(path.read_text(encoding="utf-8"))
    change(notebook)
    path.write_text(json.dumps(notebook), encoding="utf-8")


def test_sound_set_runs_and_has_no_problem(written):
    """Every workbook and exercise is named and none has a problem."""
    told = []
    found = validated(read_class_set(written), lambda *args: told.append(args))
    (workbook,) = written.glob("for-students/*/*.ipynb")
    assert found.workbooks == {workbook.relative_to(written).as_posix(): []}
    assert found.exercises == {"s01 exercise 1": []}
    assert found.whole == {"difficulty": []}
    assert found.is_sound
    assert told == [("validating", 1, 1)]


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
    assert "cell exercise-1 has outputs. Clear them." in only_problems(folder)


def test_unlocked_cells_are_found(spoiled):
    """Each cell must be kept from being edited and from being deleted."""
    folder, path = spoiled

    def unlock(notebook):
        notebook["cells"][0]["metadata"].pop("editable")
        notebook["cells"][1]["metadata"]["deletable"] = True

    rewrite(path, unlock)
    problems = only_problems(folder)
    assert {"cell start is not locked", "cell lesson-1 is not locked"} <= set(problems)


def test_stored_widget_state_is_found(spoiled):
    """A workbook saved with widgets in it is not given out."""
    folder, path = spoiled
    rewrite(path, lambda n: n["metadata"].update(widgets={}))
    assert "holds stored widget state. Clear it." in only_problems(folder)


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
    name = path.relative_to(folder).as_posix()
    assert found_in(folder).workbooks == {name: ["is missing"]}


def test_stray_files_are_found(spoiled):
    """Whatever else would be given out is named, and the workbook stays sound."""
    folder, path = spoiled
    strays = [f"for-students/{name}" for name in ("key", "s01/x.jsonl", "s02/a.ipynb")]
    (folder / strays[0]).symlink_to("../for-instructor")
    (folder / strays[2]).parent.mkdir()
    for stray in strays[1:]:
        (folder / stray).write_text("x", encoding="utf-8")
    found = found_in(folder).workbooks
    assert found.pop(path.relative_to(folder).as_posix()) == []
    assert sorted(found) == strays
    assert all("remove it" in problem for (problem,) in found.values())


def resealed(folder, change):
    """Change the answer key of a set and seal it again with its own secret."""
    made = read_class_set(folder)
    secret, key = open_key(made)
    records = content_of(list(key.whole))
    change(records)
    made.key_file.unlink()
    packed = {"s01": pack_content(records)}
    write_sealed_key(made.key_file, secret, replace(key, packed=packed))


def test_changed_answer_key_is_found(spoiled):
    """A key that the secret does not give fails its exercise, in one line."""
    folder, _ = spoiled
    changed = []

    def change(records):
        records[0]["predictions"][0].update(value=7e3)
        changed.append(records[0]["predictions"][0]["id"])

    resealed(folder, change)
    (line,) = found_in(folder).lines()
    assert line == (
        "s01 exercise 1: its key differs at predictions[0].value from what the secret "
        f"gives; the value of {changed[0]} lies outside of its band"
    )


def test_answer_key_of_another_processor_is_sound(spoiled):
    """Its numbers may differ in their last digits."""
    folder, _ = spoiled
    resealed(
        folder,
        lambda records: records[0]["predictions"][0].update(
            value=records[0]["predictions"][0]["value"] * (1 + 1e-12)
        ),
    )
    assert found_in(folder).is_sound


def notebook(number, word="expected", page="page"):
    """Text of a workbook with one number and one word sealed."""
    sealed = seal({"format": 1, "exercises": [number, word]})
    return json.dumps({"cells": [page], "metadata": {"clampbook": {"sealed": sealed}}})


def test_workbook_of_another_processor_is_what_its_secret_gives():
    """Sealed numbers may differ in their last digits, and nothing else."""
    assert _agree(notebook(14.1 * (1 + 1e-12)), notebook(14.1))
    assert not _agree(notebook(14.1 * (1 + 1e-8)), notebook(14.1))
    assert not _agree(notebook(14.1, word="high"), notebook(14.1))
    assert not _agree(notebook(14.1, page="pages"), notebook(14.1))


@pytest.mark.parametrize("text", ["{}", "[]", '{"metadata": {"clampbook": 3}}'])
def test_workbook_without_a_seal_is_not_what_its_secret_gives(text):
    """Nothing can be opened, so nothing agrees."""
    assert not _agree(text, notebook(14.1))


def test_exercises_that_key_and_workbook_do_not_share_are_found(spoiled):
    """An exercise is in the key and in a workbook, or it is named."""
    folder, _ = spoiled
    resealed(folder, lambda records: records[0].update(exercise=2))
    assert found_in(folder).exercises == {
        "s01 exercise 1": ["is not in the answer key"],
        "s01 exercise 2": ["is in the answer key, but in no workbook"],
    }


def test_class_of_unlike_difficulty_is_found(written, monkeypatch):
    """A graded set that is harder for some students than for others is not sound."""
    unlike = ClassDifficulty(mean_percent=14.0, spread_frac=0.04)
    monkeypatch.setattr(validation, "class_difficulty", lambda _: unlike)
    assert list(found_in(written).lines()) == [
        "difficulty: predicted difficulty: careful novices lose 14.0 % of the marks; "
        "students differ by 4.0 % of that (standard deviation), "
        "more than 3 %. Draw it anew."
    ]
