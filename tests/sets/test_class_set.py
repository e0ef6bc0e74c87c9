"""A class set appears whole or not at all, and only its secret can repeat it."""

import json
import stat
from dataclasses import replace
from functools import cache, partial
from pathlib import Path

import pytest

from answer_keys.errors import AnswerKeysError, FileError, RubricError
from answer_keys.keys.class_secret import read_class_secret
from answer_keys.marking.rubric import rubric_text
from generator.drawing.course import read_course
from generator.drawing.request import Student
from generator.errors import ClassSetError, DrawError
from generator.sets import set_writing
from generator.sets.class_set import open_key, read_class_set
from generator.sets.set_writing import rebuilt_workbooks, write_class_set
from generator.workbooks.class_workbooks import new_workbooks
from generator.workbooks.notebook import notebook_text
from lessons.errors import LessonError
from tests.drawn import OTHER_SECRET, SECRET, DrawnBefore, request, workbooks
from workbook.record.sealed import unseal


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """A graded set of three students and three exercises, with a known secret."""
    folder = tmp_path_factory.mktemp("sets") / "autumn"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(set_writing, "new_class_secret", lambda: SECRET)
        # The same workbooks that other tests look at: drawing takes its time.
        patch.setattr(
            set_writing, "class_workbooks", lambda *_: DrawnBefore(workbooks("graded"))
        )
        return write_class_set(folder, request("graded"))


@cache
def small_workbooks():
    """The workbooks of a set of one exercise, which no name of a student changes."""
    asked = request("practice", 1, 1)
    return tuple(new_workbooks(read_course(asked.lessons), asked, SECRET))


@pytest.fixture
def small(monkeypatch):
    """What a set of one exercise asks for; its secret is known too."""
    monkeypatch.setattr(set_writing, "new_class_secret", lambda: SECRET)
    drawn = DrawnBefore(small_workbooks())
    monkeypatch.setattr(set_writing, "class_workbooks", lambda *_: drawn)
    return request("practice", 1, 1)


def circuits(some_workbooks):
    """The nominal circuit of every exercise."""
    return [
        exercise.specification.nominal
        for workbook in some_workbooks
        for exercise in workbook.exercises
    ]


def test_set_has_the_layout_that_is_promised(written):
    """Students' files, the instructor's, and empty places for what comes back."""
    files = {
        path.relative_to(written.folder).as_posix()
        for path in written.folder.rglob("*")
        if path.is_file()
    }
    name = f"clampbook-{written.set_id}"
    assert files == {
        "set.toml",
        "for-instructor/.gitignore",
        "for-instructor/answer-key.sealed",
        "for-instructor/class-secret.txt",
        "for-instructor/roster.csv",
        "for-instructor/rubric.toml",
        *(f"for-students/s0{n}/{name}-s0{n}.ipynb" for n in (1, 2, 3)),
    }
    assert written.handed_in.is_dir()
    assert written.results.is_dir()
    assert all(written.workbook_file(f"s0{n}").is_file() for n in (1, 2, 3))


def test_only_the_owner_may_read_the_secret(written):
    """Mode 0600, and whatever becomes of the folder, no repository takes it in."""
    assert stat.S_IMODE(written.secret_file.stat().st_mode) == 0o600
    ignored = written.folder / "for-instructor" / ".gitignore"
    assert ignored.read_text() == "*\n"
    assert read_class_secret(written.secret_file) == SECRET


def test_nothing_of_the_secret_stands_in_other_files(written):
    """Neither in hexadecimal nor in bytes."""
    for path in written.folder.rglob("*"):
        if path.is_file() and path != written.secret_file:
            content = path.read_bytes()
            assert SECRET.value not in content
            assert SECRET.value.hex().encode() not in content.lower()


def test_students_files_hold_no_name(written):
    """Names stay with the instructor; students' files know ids alone."""
    names = [student.name for student in request("graded").students]
    assert names[0] in (written.folder / "for-instructor" / "roster.csv").read_text()
    for path in (written.folder / "for-students").rglob("*.ipynb"):
        text = path.read_text("utf-8")
        assert not [name for name in names if name in text]


def test_set_reads_back_as_it_was_asked_for(written):
    """What stands in set.toml and the class list is the request."""
    read = read_class_set(written.folder)
    assert read == written
    assert read.request == request("graded")


def test_rebuilt_workbooks_are_the_same_bytes(written):
    """The secret draws every workbook again as it was handed out."""
    secret, _ = open_key(written)
    rebuilt = list(rebuilt_workbooks(read_class_set(written.folder), secret))
    assert [workbook.student for workbook in rebuilt] == ["s01", "s02", "s03"]
    for workbook in rebuilt:
        handed_out = written.workbook_file(workbook.student).read_bytes()
        assert notebook_text(workbook).encode() == handed_out


def test_sealed_key_holds_every_exercise_of_every_student(written):
    """One record each, under the names that grading expects."""
    secret, key = open_key(written)
    assert secret == SECRET
    assert key.set_id == written.set_id
    assert (key.edition, key.mode) == (1, "graded")
    assert [(r.student, r.exercise) for r in key.whole] == [
        (f"s0{student}", number) for student in (1, 2, 3) for number in (1, 2, 3)
    ]
    assert {r.set_id for r in key.whole} == {written.set_id}


def test_sealed_key_tells_nothing_without_the_secret(written):
    """No fault, no repair and no band can be read from the file."""
    _, key = open_key(written)
    sealed = written.key_file.read_text()
    for record in key.exercises:
        assert record.fault.id not in sealed
        assert record.fault.repair not in sealed


def test_graded_students_have_the_same_faults_in_orders_of_their_own():
    """The whole is equally hard; a neighbour's conclusions do not help."""
    drawn = [
        [exercise.radical for exercise in workbook.exercises]
        for workbook in workbooks("graded")
    ]
    assert len({frozenset(radicals) for radicals in drawn}) == 1
    assert len({tuple(radicals) for radicals in drawn}) == 3


@pytest.mark.parametrize("mode", ["graded", "practice"])
def test_no_two_circuits_of_a_class_are_the_same(mode):
    """Even the same fault comes with values of its own."""
    drawn = circuits(workbooks(mode))
    assert len(set(drawn)) == len(drawn) == 9


def test_another_secret_shares_no_variant():
    """Who has another class's set learns nothing of this one."""
    mine, other = workbooks("practice"), workbooks("practice", OTHER_SECRET, count=1)
    assert not set(circuits(mine)) & set(circuits(other))
    assert mine[0].set_id != other[0].set_id


def test_rubric_and_roster_are_the_instructors_to_change(written):
    """The rubric has the weights of the lesson; a quoted name survives."""
    rubric = written.rubric_file.read_text()
    assert "predictions = 20\n" in rubric
    assert "[rubric]" in rubric
    roster = (written.folder / "for-instructor" / "roster.csv").read_text()
    assert roster.startswith("id,name\ns01,")


def test_rubric_of_ones_own_goes_with_the_set(tmp_path, small):
    """It is copied, and its method is remembered for the pages of the set."""
    text = f"{rubric_text()}[method]\nsteps = ['drop at load', 'state at fuse_box']\n"
    own = tmp_path / "mine.toml"
    own.write_text(text)
    made = write_class_set(tmp_path / "set", small, rubric=own)
    assert made.rubric_file.read_text() == text
    read = read_class_set(made.folder).request
    assert read.method == (("drop", "load"), ("state", "fuse_box"))
    assert read == replace(small, method=read.method)
    own.write_text(text.replace("drop at load", "drop at moon"))
    with pytest.raises(RubricError, match="no step of a method"):
        write_class_set(tmp_path / "other", small, rubric=own)
    assert not (tmp_path / "other").exists()


@pytest.mark.parametrize("name", ['Ñandú, "N."', "=1+1", "a;b", "  x  ", "Ω"])
def test_any_name_reads_back(tmp_path, small, name):
    """Quotes, separators and other alphabets come through the class list."""
    asked = replace(small, students=(Student(id="s01", name=name.strip()),))
    made = write_class_set(tmp_path / "set", asked)
    assert read_class_set(made.folder).request == asked


def test_existing_folder_is_never_overwritten(tmp_path, small):
    """Whatever is there stays, even where it is empty."""
    folder = tmp_path / "set"
    folder.mkdir()
    with pytest.raises(ClassSetError, match="never overwritten") as caught:
        write_class_set(folder, small)
    assert caught.value.folder == folder
    assert list(tmp_path.rglob("*")) == [folder]


def test_place_that_cannot_be_written_is_told(tmp_path, small):
    """A file where a folder should be is a fault of the place, told as such."""
    (tmp_path / "file").write_text("mine")
    with pytest.raises(ClassSetError, match="cannot be written here"):
        write_class_set(tmp_path / "file" / "set", small)
    assert (tmp_path / "file").read_text() == "mine"


@pytest.mark.parametrize("error", [KeyboardInterrupt, DrawError, OSError])
def test_nothing_is_left_after_a_failure(tmp_path, small, monkeypatch, error):
    """A draw that fails, a full disk or Ctrl+C leave no half of a set."""

    def fail(*_):
        if error is DrawError:
            raise DrawError("f", "x_y", 3, "why")
        raise error

    monkeypatch.setattr(set_writing, "notebook_text", fail)
    with pytest.raises(error):
        write_class_set(tmp_path / "set", small)
    assert list(tmp_path.iterdir()) == []


def test_unknown_lesson_leaves_nothing(tmp_path, small):
    """Faults of lessons are found before anything is written."""
    with pytest.raises(LessonError, match="there is no lesson"):
        write_class_set(tmp_path / "set", replace(small, lessons=("none",)))
    assert list(tmp_path.iterdir()) == []


def test_progress_is_told_student_by_student(tmp_path, small):
    """Long work says how far it is."""
    told = []
    write_class_set(tmp_path / "set", small, progress=lambda *step: told.append(step))
    assert [(number, count) for _, number, count in told] == [(1, 1)]


def test_passphrase_keeps_the_secret(tmp_path, small):
    """The folder alone opens nothing; with the passphrase it is the same set."""
    made = write_class_set(tmp_path / "set", small, passphrase="a long winter")
    assert SECRET.value.hex() not in made.secret_file.read_text()
    with pytest.raises(AnswerKeysError, match="passphrase"):
        open_key(made)
    assert open_key(made, "a long winter")[0] == SECRET


def test_secret_is_drawn_anew_for_every_set(monkeypatch):
    """Two hundred fifty-six bits from the operating system."""
    monkeypatch.undo()
    one, other = (set_writing.new_class_secret() for _ in range(2))
    assert len(one.value) == 32
    assert one != other


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (None, "is no class set: it has no set.toml"),
        (("[set]", "[other]"), "set: is missing"),
        (
            ("edition = 1", 'edition = "one"'),
            r"set\.edition: must be",
        ),
        (("edition = 1", "edition = ["), "line 7: is not valid TOML"),
        (("exercises = 1", ""), r"set\.exercises: is missing"),
        (("lessons =", "lessons = 7 #"), r"line 9: set\.lessons"),
    ],
)
def test_folder_that_is_no_set_is_told(tmp_path, small, change, said):
    """Missing, damaged and half of a set.toml name the folder and the fault."""
    folder = tmp_path / "set"
    folder.mkdir()
    if change:
        made = write_class_set(tmp_path / "made", small)
        text = (made.folder / "set.toml").read_text()
        assert change[0] in text
        (folder / "set.toml").write_text(text.replace(*change))
        roster = Path("for-instructor", "roster.csv")
        (folder / roster).parent.mkdir()
        (folder / roster).write_bytes((made.folder / roster).read_bytes())
    with pytest.raises((ClassSetError, FileError), match=said):
        read_class_set(folder)


def test_graded_workbooks_carry_no_feedback(written):
    """Nothing that marks an answer is given out with a graded set."""
    shown = json.loads(written.workbook_file("s01").read_text("utf-8"))
    payload = unseal(shown["metadata"]["clampbook"]["sealed"])
    assert all(exercise["feedback"] is None for exercise in payload["exercises"])


def test_student_keeps_their_workbook_when_the_class_changes():
    """Drawn by id, a workbook does not depend on who else is in the class."""
    asked = request("practice")
    alone = replace(asked, students=asked.students[1:2])
    [workbook] = new_workbooks(read_course(alone.lessons), alone, SECRET)
    assert workbook == workbooks("practice")[1]


def test_set_is_the_same_bytes_however_many_draw_it(tmp_path, monkeypatch):
    """Two processes write what one does."""
    monkeypatch.setattr(set_writing, "new_class_secret", lambda: SECRET)
    # A key is sealed with a nonce of chance: what it holds is compared.
    opened, files = [], []
    for workers in (1, 2):
        asked = request("practice", 2, 1)
        draw = partial(set_writing.parts_of_class, workers=workers)
        made = write_class_set(tmp_path / str(workers), asked, draw=draw)
        opened.append(open_key(made)[1])
        files.append(contents(made.folder))
    assert opened[0] == opened[1]
    assert files[0] == files[1]


def contents(folder):
    """What is in each file of a set but its key."""
    return {
        path.relative_to(folder): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.suffix != ".sealed"
    }
