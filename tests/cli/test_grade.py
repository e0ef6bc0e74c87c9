"""What comes back is graded file by file, and nothing that comes back stops a class."""

import json
import os
import re
import shutil
import sqlite3
import subprocess
import sys
from contextlib import suppress

import pytest
import sqlalchemy as sa

from answer_keys.marking.marks import marks_in
from tests.cli.command import error_of, files_below, json_of, run


def handed_in(own, student):
    """The file that a student handed in."""
    return next(own.glob(f"handed-in/hand-in-*-{student}.jsonl"))


def statuses(summary):
    """What became of each file, by name."""
    return {file["name"]: file["status"] for file in summary["files"]}


def gradings(own):
    """Every grading in the gradebook, oldest first."""
    with sqlite3.connect(own / "results" / "gradebook.sqlite") as database:
        rows = database.execute("select * from grading order by id").fetchall()
    database.close()
    return rows


@pytest.mark.usefixtures("readers")
def test_class_is_graded_and_the_report_named(own):
    """Words name the report; JSON accounts for files, students and what was written."""
    result = run("grade", own, "--json")
    summary = json.loads(result.stdout)
    assert set(statuses(summary).values()) == {"graded"}
    assert [s["status"] for s in summary["students"]] == ["graded", "graded"]
    assert all((own / "results" / name).is_file() for name in summary["written"])
    report = own / "results" / "class-report.html"
    assert f"Graded 2 of 2 files. Open {report}" in result.stderr


def test_students_without_a_hand_in_are_accounted_for(own):
    """A class that handed in nothing, and lost its folder, is graded all the same."""
    shutil.rmtree(own / "handed-in")
    result = run("grade", own, "--json")
    assert f"{own / 'handed-in'}: holds no file; put there" in result.stderr
    summary = json.loads(result.stdout)
    assert summary["files"] == []
    assert [s["status"] for s in summary["students"]] == ["no hand-in"] * 2
    assert [s["total"] for s in summary["students"]] == [None, None]


def put_bad_files(own):
    """Put beside good hand-ins what comes back in a bad week; their names."""
    folder, good = own / "handed-in", handed_in(own, "s01").read_bytes()
    first, rest = good.split(b"\n", 1)
    foreign = first.replace(json.loads(first)["set_id"].encode(), b"zzzzzzzz")
    files = {
        "foreign.jsonl": foreign + b"\n" + rest,
        "stranger.jsonl": good.replace(b'"s01"', b'"s99"'),
        "empty.jsonl": b"",
        "deep.jsonl": b"[" * 100_000,
        "binary.jsonl": bytes(range(256)),
        "nan.jsonl": first.replace(b'"edition":1', b'"edition":NaN'),
        "=cmd()<script>.txt": b"hello",
        "archive.zip": b"PK\x03\x04 broken",
        "[bold]:smile:.txt": b":smile:",
        "[red]folder[/inner].txt": b"x",
        "deep/deeper/note.txt": b"x",
    }
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    with (folder / "huge.jsonl").open("wb") as file:
        file.truncate(60_000_000)
    (folder / "link.jsonl").symlink_to("../for-instructor/class-secret.txt")
    (folder / "empty-folder").mkdir()
    return {*files, "huge.jsonl", "link.jsonl"}


@pytest.mark.usefixtures("readers")
def test_every_file_is_accounted_for_and_the_class_graded(own):
    """Whatever lies beside them, good hand-ins get the marks that they get alone."""
    alone = json_of("grade", own)["students"]
    bad = put_bad_files(own)
    before = files_below(own / "handed-in")
    result = run("grade", own, "--json")
    summary = json.loads(result.stdout)
    files = {file["name"]: file for file in summary["files"]}
    assert summary["students"] == alone
    assert set(statuses(summary)) == bad | {
        handed_in(own, student).name for student in ("s01", "s02")
    }
    for name in bad:
        assert files[name]["status"] == "refused"
        assert f"{name}: refused: {files[name]['reason']}" in result.stderr
    assert "Graded 2 of 15 files." in result.stderr
    assert files_below(own / "handed-in") == before


def test_torn_hand_in_is_graded_as_far_as_it_goes(own):
    """What stands whole in a file that was cut off counts, with a word on it."""
    path = handed_in(own, "s01")
    path.write_bytes(path.read_bytes()[:-40])
    torn = next(f for f in json_of("grade", own)["files"] if f["name"] == path.name)
    assert torn["status"] == "graded"
    assert torn["reason"]


def test_second_copy_is_superseded(own):
    """One file of a student counts; the same one again is named and not counted."""
    path = handed_in(own, "s01")
    shutil.copy(path, path.with_name("another name.jsonl"))
    found = statuses(json_of("grade", own))
    both = sorted(found[name] for name in (path.name, "another name.jsonl"))
    assert both == ["graded", "superseded"]


def test_grading_again_adds_nothing(own):
    """The same files under the same rubric are one grading."""
    assert json_of("grade", own)["gradings_added"] == 2
    first = gradings(own)
    assert json_of("grade", own)["gradings_added"] == 0
    assert gradings(own) == first


def test_changed_rubric_adds_second_marks(own):
    """Earlier marks stay as they were; the changed rubric gives marks of its own."""
    first = json_of("grade", own)["students"]
    kept = gradings(own)
    rubric = own / "for-instructor" / "rubric.toml"
    text = rubric.read_text("utf-8").replace("cause = 20", "cause = 100")
    rubric.write_text(text, encoding="utf-8")
    second = json_of("grade", own)
    assert second["gradings_added"] == 2
    assert gradings(own)[:2] == kept
    assert len(gradings(own)) == 4
    outs = {s["out_of"] for s in second["students"]}
    assert outs == {s["out_of"] + 2 * 80 for s in first}


def test_faulty_rubric_is_reported_as_a_whole_and_changes_nothing(graded):
    """Every fault of a rubric stands with file and line; earlier results stay."""
    rubric = graded / "for-instructor" / "rubric.toml"
    rubric.write_text(
        "[rubric]\ncause = -1\nfoo = 3\nfindings = 'x'\nchoices = true\n[other]\n",
        encoding="utf-8",
    )
    before = files_below(graded)
    error = error_of("grade", graded)
    for said in (
        "line 2: rubric.cause: must be 0 or more (given: -1)",
        "line 3: rubric.foo: there is no such key",
        "line 4: rubric.findings: must be a number (given: 'x')",
    ):
        assert f"{rubric}, {said}" in error
    for said in (
        "line 5: rubric.choices: must be a number (given: True)",
        "line 6: other: there is no such key",
        "rubric.correction: is missing",
    ):
        assert said in error
    assert files_below(graded) == before


def test_results_that_cannot_be_written_are_named(own):
    """A file in the way of the results is one line, and stays."""
    shutil.rmtree(own / "results")
    (own / "results").write_text("mine", encoding="utf-8")
    error = error_of("grade", own)
    assert f"{own / 'results'}: cannot be read or written" in error
    assert (own / "results").read_text("utf-8") == "mine"


def test_simulation_never_mixes_with_students_work(own):
    """Invented work is refused where there is any file, and nothing is changed."""
    before = files_below(own)
    error = error_of("simulate", own)
    assert "handed-in/ holds files already. Move them elsewhere" in error
    assert files_below(own) == before


def test_simulation_depends_on_the_secret_alone(own):
    """The same set is worked the same way again, in everything but session names."""
    marks = json_of("grade", own)["students"]
    shutil.rmtree(own / "handed-in")
    names = json_of("simulate", own, "--kinds=novice")["handed_in"]
    assert sorted(names) == sorted(p.name for p in (own / "handed-in").iterdir())
    assert json_of("grade", own)["students"] == marks


def test_simulated_class_is_of_the_kinds_asked_for(own):
    """Kinds are dealt out in turn, written to the instructor's part, and show."""
    shutil.rmtree(own / "handed-in")
    run("simulate", own, "--kinds", "expert, guesser")
    told = json.loads((own / "for-instructor/invented-students.json").read_text())
    kinds = {student["id"]: student["kind"] for student in told["students"]}
    assert kinds == {"s01": "expert", "s02": "guesser"}
    marks = {
        s["id"]: s["total"] / s["out_of"] for s in json_of("grade", own)["students"]
    }
    assert marks["s01"] == 1.0
    assert marks["s02"] < 0.4


def totals(summary):
    """Total of each student."""
    return {one["id"]: one["total"] for one in summary["students"]}


@pytest.mark.usefixtures("readers")
def test_more_workers_give_the_same_marks(own):
    """How many processes mark changes nothing."""
    one = json_of("grade", own)
    assert json_of("grade", own, "--workers", 2) == one | {"gradings_added": 0}


def test_marks_set_by_hand_are_taken_and_kept(own):
    """They hold for later gradings, too, until they are taken back."""
    before = totals(json_of("grade", own))
    path = own / "changed.csv"
    head = "student,exercise,step,mark,reason\n"
    step = _earned_step(own)
    path.write_text(f"{head}s01,1,{step},0,not your work\n")
    changed = totals(json_of("grade", own, "--overrides", path))
    assert changed["s01"] < before["s01"]
    assert changed["s02"] == before["s02"]
    assert totals(json_of("grade", own)) == changed
    path.write_text(f"{head}s01,1,{step},,mistaken\n")
    assert totals(json_of("grade", own, "--overrides", path)) == before
    assert "line 2: student “s77”" in error_of(
        "grade", own, "--overrides", _table(path, f"{head}s77,1,cause,1,x\n")
    )


def _earned_step(own):
    """The step of the first exercise of s01 that has brought a mark, whatever it is."""
    with sqlite3.connect(own / "results" / "gradebook.sqlite") as database:
        query = "select marks from grading where student = 's01'"
        ((marks,),) = database.execute(query).fetchall()
    database.close()
    return max(marks_in(marks)[0].steps, key=lambda step: step.mark).step


def _table(path, text):
    path.write_text(text, encoding="utf-8")
    return path


def test_student_is_exported_and_forgotten(graded):
    """All of one student leaves the gradebook and the results; the rest is named."""
    exported = graded / "s01.json"
    run("grade", graded, "--export-student", "s01", exported)
    everything = json.loads(exported.read_text("utf-8"))
    assert everything["student"] == "s01"
    assert everything["gradebook"]["hand_in"][0]["journal"]
    told = json_of("grade", graded, "--forget-student", "s01")
    assert "results/sheets/sheet-s01.html" in told["deleted"]
    assert f"handed-in/{handed_in(graded, 's01').name}" in told["left"]
    assert not (graded / "results" / "class-report.html").exists()
    assert [row[2] for row in gradings(graded)] == ["s02"]
    assert told["rows"] == {
        table: len(rows) for table, rows in everything["gradebook"].items()
    }
    nothing = json_of("grade", graded, "--export-student", "s01", exported)
    assert set(nothing["rows"].values()) == {0}
    assert "has no student 's99'" in error_of(
        "grade", graded, "--forget-student", "s99"
    )


def words_of(own, student):
    """What tells of a student: id, name, and how packed work and its hash begin."""
    name = next(
        s["name"] for s in json_of("grade", own)["students"] if s["id"] == student
    )
    with sqlite3.connect(own / "results" / "gradebook.sqlite") as database:
        query = "select sha256, substr(journal, 1, 60) from hand_in where student = ?"
        packed = database.execute(query, [student]).fetchall()
    database.close()
    return [student, name, *(word for row in packed for word in row)]


@pytest.fixture
def careless():
    """SQLite as it is by itself: some builds overwrite whatever is deleted."""

    def set_up(connection, _):
        connection.execute("PRAGMA secure_delete=OFF")

    sa.event.listen(sa.Engine, "connect", set_up)
    yield
    sa.event.remove(sa.Engine, "connect", set_up)


@pytest.mark.usefixtures("careless")
def test_no_byte_of_a_forgotten_student_is_left(own):
    """Neither of marks and refused files, of this grading and of earlier ones, nor in
    pages, PDFs, drafts of killed writers, free pages of the file, or its log."""
    folder, sheets = own / "handed-in", own / "results" / "sheets"
    words = words_of(own, "s01")
    name = words[1].upper().replace(" ", "_")
    (folder / f"{name} s01.jsonl").write_bytes(b"once")
    json_of("grade", own)
    (folder / f"{name} s01.jsonl").rename(folder / f"late {name}.jsonl")
    (folder / "other.jsonl").write_bytes(b"nobody's")
    json_of("grade", own)
    (sheets / "sheet-s01.pdf").write_text("s01")
    (sheets / ".sheet-s01.html.77.part").write_text("s01")
    exported = own / "s01.json"
    run("grade", own, "--export-student", "s01", exported)
    refused = json.loads(exported.read_text("utf-8"))["gradebook"]["returned_file"]
    assert {file["name"] for file in refused} == {
        handed_in(own, "s01").name,
        f"late {name}.jsonl",
    }
    told = json_of("grade", own, "--forget-student", "s01")
    assert f"handed-in/late {name}.jsonl" in told["left"]
    exported.unlink()
    # As a word: what is sealed has any letters side by side.
    tells = re.compile(rb"\bs01\b").search
    named = {place for place, data in files_below(own).items() if tells(data)}
    assert all(place.startswith(tuple(told["left"])) for place in named)
    for place, data in files_below(own / "results").items():
        for word in [*words, name]:
            tell = word if isinstance(word, bytes) else word.encode()
            assert tell not in data, (word, place)
            assert tell not in place.encode()


def test_gradebook_that_another_program_reads_is_not_called_clean(graded, monkeypatch):
    """Bytes that cannot be overwritten now are told, and forgetting again ends it."""
    monkeypatch.setattr("answer_keys.gradebook.gradebook_engine.PATIENCE_S", 0.1)
    with sqlite3.connect(graded / "results" / "gradebook.sqlite") as reader:
        reader.execute("begin")
        reader.execute("select count(*) from grading").fetchall()
        assert "close that program" in error_of(
            "grade", graded, "--forget-student", "s01"
        )
    reader.close()
    assert (
        sum(json_of("grade", graded, "--forget-student", "s01")["rows"].values()) == 0
    )


def test_leftovers_of_a_killed_writer_are_cleared(own):
    """Only drafts of our own results that nobody writes any more."""
    sheets = own / "results" / "sheets"
    sheets.mkdir(parents=True)
    old = [own / "results" / ".marks.csv.7.part", sheets / ".sheet-s01.html.7.part"]
    kept = [own / "results" / ".mine.csv.7.part", sheets / "sheet-s01.html.7.part"]
    for path in (*old, *kept):
        path.write_text("x")
        os.utime(path, (0, 0))
    fresh = sheets / ".sheet-s02.html.8.part"
    fresh.write_text("another grader is at it")
    json_of("grade", own)
    assert not any(path.exists() for path in old)
    assert all(path.exists() for path in (*kept, fresh))


def test_student_of_a_set_never_graded_is_told(own):
    """No gradebook is made to find nothing in it."""
    shutil.rmtree(own / "results")
    assert "no gradebook yet" in error_of("grade", own, "--forget-student", "s01")
    assert not (own / "results").exists()


def test_gradebook_can_be_anywhere(own, tmp_path):
    """By its address, for grading and for the report; none among the results then."""
    address = f"sqlite:///{tmp_path / 'elsewhere.sqlite'}"
    written = json_of("grade", own, "--gradebook", address)["written"]
    assert "gradebook.sqlite" not in written
    assert not (own / "results" / "gradebook.sqlite").exists()
    report = json_of("report", own, "--gradebook", address)
    assert set(report["written"]) == set(written)
    error = error_of("grade", own, "--gradebook", "mysql://u:hidden@h/x")
    assert "Name a SQLite file or a PostgreSQL database" in error
    assert "hidden" not in error


def test_killed_grading_is_completed_by_the_next(own, tmp_path):
    """Killed as soon as its gradebook is there: the same marks, and nothing half."""
    alone = shutil.copytree(own, tmp_path / "alone")
    code = "from generator.cli import main; main()"
    command = [sys.executable, "-c", code, "grade", str(own)]
    process = subprocess.Popen(command, stderr=subprocess.DEVNULL)
    place = own / "results" / "gradebook.sqlite"
    while process.poll() is None and not place.exists():
        with suppress(subprocess.TimeoutExpired):
            process.wait(0.01)
    process.kill()
    process.wait()
    assert totals(json_of("grade", own)) == totals(json_of("grade", alone))
    assert len(gradings(own)) == 2
    written = {name for name in files_below(own / "results") if ".part" not in name}
    assert written >= set(files_below(alone / "results"))
