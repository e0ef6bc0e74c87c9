"""Writing a class set: what it holds, and what stops it without leaving anything."""

import json
import shutil

import pytest

from generator.sets import set_writing
from lessons.loader import LESSONS_FOLDER
from tests.cli.command import error_of, files_below, json_of, run
from tests.drawn import SECRET

ONE = ("--students=1", "--exercises=1")
SMALL = (*ONE, "--lessons=two-circuits")


@pytest.fixture(autouse=True)
def in_a_folder(tmp_path, monkeypatch):
    """Work in an empty folder."""
    monkeypatch.chdir(tmp_path)


def refused(tmp_path, *arguments, code=1):
    """Run a command that must fail and leave the folder as it was."""
    before = files_below(tmp_path)
    error = error_of("generate", *arguments, code=code)
    assert files_below(tmp_path) == before
    assert not (tmp_path / "set").exists()
    assert not list(tmp_path.glob(".*"))
    return error


def test_set_has_its_parts_and_says_what_to_give_out(tmp_path):
    """The summary names a workbook for each student; the words name the folders."""
    result = run("generate", "--students=2", "--exercises=1", "--out=set", "--json")
    made, folder = json.loads(result.stdout), tmp_path / "set"
    assert (made["mode"], made["exercises"]) == ("practice", 1)
    assert 0 < made["difficulty"]["mean_percent"] < 100
    assert "Each student gets " in result.stderr
    assert made["drawn"]["minutes"] in range(10, 16)
    assert [student["id"] for student in made["students"]] == ["s01", "s02"]
    assert all((folder / s["workbook"]).is_file() for s in made["students"])
    assert {path.name for path in folder.iterdir()} == {
        *("set.toml", "for-students", "for-instructor", "handed-in", "results")
    }
    assert "never give out set/for-instructor" in result.stderr


def test_class_list_gives_ids_to_files_and_names_to_nobody(tmp_path):
    """Students' files carry ids; a name stands only in the instructor's part."""
    (tmp_path / "roster.csv").write_text(
        "\ufeffName;ID\nÜrsula Dörr;a.b\n", encoding="utf-8"
    )
    run("generate", *SMALL, "--students=roster.csv", "--out=set")
    given_out = files_below(tmp_path / "set" / "for-students")
    assert [name.split("/")[0] for name in given_out] == ["a.b"]
    assert all("rsula" not in data.decode() for data in given_out.values())
    roster = tmp_path / "set" / "for-instructor" / "roster.csv"
    assert "Ürsula Dörr" in roster.read_text("utf-8")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", ["line 1: no column called id and name"]),
        (b"id,name\n", ["there is no student. Write one line or more"]),
        (b"number,name\n1,A\n", ["line 1: no column called id.", "Name the"]),
        (b"\xd0\xcf\x11\xe0\0", ["Save it as XLSX or CSV"]),
        (
            b"id,name\na,A\nA,B\n../c,C\n,D\n=x,E\nnul,F\n" + b"x" * 41 + b",G\n",
            [
                "line 3: id 'A' stands here twice",
                "line 4: '../c' cannot be an id. Write 1 to 40",
                "line 5: '' cannot be an id",
                "line 6: '=x' cannot be an id",
                "line 7: 'nul' cannot be an id: some systems keep it",
                "line 8: 'xxx",
            ],
        ),
    ],
)
def test_faulty_class_list_is_reported_as_a_whole(tmp_path, data, said):
    """Every fault stands with file and line, and nothing is written."""
    (tmp_path / "roster.csv").write_bytes(data)
    error = refused(tmp_path, "--students=roster.csv", "--out=set")
    assert all(f"roster.csv, {text}" in error or text in error for text in said)
    assert error.count("roster.csv, line") >= len(said) - 1


def test_unknown_lesson_is_named_with_those_that_are_known(tmp_path):
    """A lesson that is not there is answered with what can be taken."""
    error = refused(tmp_path, *ONE, "--lessons=mixed-diagnosis, nope", "--out=set")
    assert (
        "nope: there is no lesson 'nope'. Name one of two-circuits, expected-current"
        in error
    )


def own_lesson(tmp_path, change):
    """A copy of our lesson in a folder of one's own, with its text changed."""
    folder = shutil.copytree(LESSONS_FOLDER / "whole-circuit", tmp_path / "mine")
    path = folder / "lesson.toml"
    text = path.read_text("utf-8").replace('id = "whole-circuit"', 'id = "mine"')
    path.write_text(change(text), encoding="utf-8")
    return folder


def test_lesson_of_ones_own_is_drawn_from(tmp_path):
    """A folder with a lesson can be named in place of a lesson of ours."""
    own_lesson(tmp_path, lambda text: text)
    made = json_of("generate", *ONE, "--lessons=mine", "--out=set")
    assert made["lessons"] == ["mine"]
    both = json_of("generate", *SMALL, "--lessons=mine", "--out=both")
    assert both["lessons"] == ["two-circuits", "mine"]


def test_faulty_lesson_is_reported_as_a_whole(tmp_path):
    """Every fault of a lesson stands with file and line, and nothing is written."""
    own_lesson(
        tmp_path,
        lambda text: (
            text.replace('faults = "all"', 'faults = ["coil_open", "gremlin"]')
            .replace("supply_v = [13.8, 14.4]", "supply_v = [14.4, 13.8]")
            .replace("works_weakly = 3", "works_weakly = -3\nsmells_odd = 1")
            .replace('"tiller-lock"', '"warp-drive"')
        ),
    )
    error = refused(tmp_path, *ONE, "--lessons=mine", "--out=set")
    lines = (tmp_path / "mine" / "lesson.toml").read_text("utf-8").splitlines()
    for found in ("faults =", "supply_v =", "works_weakly =", "smells_odd ="):
        line = next(n for n, text in enumerate(lines, 1) if text.startswith(found))
        assert f"lesson.toml, line {line}: " in error
    assert "there is no parts/warp-drive.toml. Write one of " in error
    assert len(error.splitlines()) >= 5


def test_lesson_that_is_no_toml_is_reported_with_its_line(tmp_path):
    """A slip of the keyboard is found where it is."""
    own_lesson(tmp_path, lambda text: text.replace("[symptoms]", "[symptoms"))
    error = refused(tmp_path, *ONE, "--lessons=mine", "--out=set")
    assert "mine/lesson.toml, line " in error
    assert "is not valid TOML" in error


def test_lesson_without_a_fault_to_draw_is_reported(tmp_path):
    """A lesson whose faults make no complaint that it wants is content at fault."""
    own_lesson(
        tmp_path,
        lambda text: (
            text.partition("[[examples]]")[0]
            .replace('faults = "all"', 'faults = ["coil_open", "load_open"]')
            .replace("does_nothing = 5", "does_nothing = 0")
        ),
    )
    error = refused(tmp_path, *ONE, "--lessons=mine", "--out=set")
    assert "no complaint of a " in error


@pytest.mark.parametrize("kind", ["file", "folder"])
def test_what_exists_is_never_overwritten(tmp_path, kind):
    """A file or a folder in the way stays as it is."""
    taken = tmp_path / "taken"
    if kind == "folder":
        taken.mkdir()
        taken = taken / "precious.txt"
    taken.write_text("precious", encoding="utf-8")
    error = refused(tmp_path, *SMALL, "--out=taken")
    assert "taken: exists already and is never overwritten" in error
    assert taken.read_text("utf-8") == "precious"


@pytest.mark.parametrize("out", ["file/set", "file/deep/set", "n" * 300])
def test_place_that_cannot_be_written_is_named(tmp_path, out):
    """A path that the disk refuses is one line with the reason."""
    (tmp_path / "file").write_text("", encoding="utf-8")
    error = refused(tmp_path, *SMALL, f"--out={out}")
    assert out in error
    assert error.count("\n") == 1


def test_set_appears_whole_or_not_at_all(tmp_path, monkeypatch):
    """Where writing breaks off, no part of the set is left."""

    def breaks(*_):
        raise OSError(28, "No space left on device", "answer-key.sealed")

    monkeypatch.setattr(set_writing, "write_sealed_key", breaks)
    error = refused(tmp_path, *SMALL, "--out=set")
    assert "answer-key.sealed: the disk is full" in error


@pytest.fixture
def protected(tmp_path):
    """A set whose secret is under a passphrase."""
    run("generate", *SMALL, "--passphrase=Gratpiste 7", "--out=set")
    return tmp_path / "set"


def test_passphrase_is_asked_for_and_checked(protected):
    """Without the passphrase or with a wrong one nothing is shown."""
    error = error_of("show", protected)
    assert "is under a passphrase: set CLAMPBOOK_PASSPHRASE, or give" in error
    error = error_of("show", protected, "--passphrase=piste")
    assert "the passphrase is wrong" in error
    env = {"CLAMPBOOK_PASSPHRASE": "wrong"}
    assert "the passphrase is wrong" in error_of("grade", protected, env=env)


def test_right_passphrase_opens_the_set(protected):
    """The passphrase opens the set, typed or from the environment."""
    typed = json_of("show", protected, "--passphrase=Gratpiste 7")
    env = {"CLAMPBOOK_PASSPHRASE": "Gratpiste 7"}
    assert json_of("show", protected, env=env) == typed
    secret = protected / "for-instructor" / "class-secret.txt"
    assert SECRET.value.hex() not in secret.read_text("utf-8")
