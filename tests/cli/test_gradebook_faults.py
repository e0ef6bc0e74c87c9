"""What a user reads where a gradebook or a disk is at fault, and what stands then."""

import json
import os
import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
import sqlalchemy as sa

from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.marking.marks import marks_text
from tests.absent import library, stop
from tests.answer_keys.postgres import postgres_server, programs
from tests.cli.command import error_of, files_below, json_of, run


def place_of(own):
    """The gradebook of a set."""
    return own / "results" / "gradebook.sqlite"


def change(own, *statements):
    """Run SQL on a gradebook, as another program may, and leave one file of it."""
    with sqlite3.connect(place_of(own)) as database:
        for statement in statements:
            database.execute(statement)
    database.execute("pragma wal_checkpoint(truncate)")
    database.close()


def totals(summary):
    """Total of each student."""
    return {one["id"]: one["total"] for one in summary["students"]}


def is_calm(said):
    """Whether a message leaves a sound gradebook where it is."""
    return not any(word in said for word in ("damaged", "move it", "Traceback"))


def test_locked_gradebook_is_called_locked(graded, monkeypatch):
    """Another program's lock is waited for, told, and gone when it ends."""
    monkeypatch.setattr("answer_keys.gradebook.gradebook_engine.PATIENCE_S", 0.05)
    other = sqlite3.connect(place_of(graded), isolation_level=None)
    other.execute("begin immediate")
    for command in ("grade", "report"):
        said = error_of(command, graded)
        assert "another program has locked the gradebook" in said
        assert str(place_of(graded)) in said
        assert is_calm(said)
    other.close()
    run("report", graded)


ODD_NAMES = ("q?x", "%41", "per%20cent", "a#b", "a&b=c", "ä b")


def test_gradebook_lies_in_its_set_whatever_the_folder_is_called(graded):
    """No sign of a path is taken for a part of an address."""
    for name in ODD_NAMES:
        odd = graded.with_name(name) / "week 3"
        shutil.copytree(graded, odd)
        before = {path.name for path in graded.parent.iterdir()}
        # What is there already, found again: another place would hold nothing yet.
        assert json_of("grade", odd)["gradings_added"] == 0
        assert {path.name for path in graded.parent.iterdir()} == before
        place_of(odd).unlink()
        assert "no gradebook yet" in error_of("report", odd)
    odd = own_folder(graded, "".join(ODD_NAMES))
    assert totals(json_of("grade", odd)) == totals(json_of("grade", graded))
    assert place_of(odd).is_file()
    run("report", odd)


def own_folder(graded, name):
    """A copy of a set, without its results, in a folder of such a name."""
    odd = graded.with_name(name) / "week 3"
    shutil.copytree(graded, odd)
    shutil.rmtree(odd / "results")
    return odd


def test_misnamed_gradebook_is_not_begun_by_a_report(graded, tmp_path):
    """A slip in an address says so, and leaves no empty file behind."""
    slip = tmp_path / "gradebok.sqlite"
    said = error_of("report", graded, "--gradebook", f"sqlite:///{slip}")
    assert f"has no gradebook yet at {slip}" in said
    assert not slip.exists()
    nowhere = f"sqlite:///{tmp_path / 'nowhere' / 'g.sqlite'}"
    said = error_of("grade", graded, "--gradebook", nowhere)
    assert "its folder is not there" in said
    said = error_of("grade", graded, "--gradebook", f"sqlite:///{tmp_path}")
    assert "is a folder; name the file" in said


@pytest.fixture
def powerless():
    """Run a command on a copy of a set as a user that may not write its results."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)

        def told(own, command):
            copy = shutil.copytree(own, folder / "set")
            run("report", copy)
            os.chmod(folder, 0o755)  # noqa: PTH101 - beside its like below
            for path in (copy, *copy.rglob("*")):
                path.chmod(0o555 if path.is_dir() else 0o444)
            is_root = os.geteuid() == 0
            if is_root:
                os.seteuid(65534)
            try:
                return error_of(command, copy)
            finally:
                if is_root:
                    os.seteuid(0)
                for path in (copy, *copy.rglob("*")):
                    path.chmod(0o755)

        yield told


@pytest.mark.parametrize("command", ["grade", "report"])
def test_gradebook_that_may_not_be_written_is_told(graded, powerless, command):
    """The remedy is a right, not another gradebook."""
    said = powerless(graded, command)
    assert "this user may not write the gradebook" in said
    assert is_calm(said)


DAMAGES = {
    "cut to nothing but a head": lambda data: data[:100],
    "cut in the first page": lambda data: data[:5000],
    "cut in half": lambda data: data[: len(data) // 2],
    "last page gone": lambda data: data[:-16384],
    "another head": lambda data: b"my notes".ljust(100) + data[100:],
    "a text": lambda _: b"my notes\n" * 400,
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_damaged_gradebook_is_told_with_what_can_be_saved(graded, damage):
    """How to keep what can be read comes before moving it, and what would be lost."""
    place = place_of(graded)
    before = DAMAGES[damage](place.read_bytes())
    place.write_bytes(before)
    for command in ("report", "grade"):
        said = error_of(command, graded)
        assert f"{place}: its content is damaged" in said
        assert said.index("First copy it") < said.index(".recover")
        assert said.index(".recover") < said.index("move it away")
        assert "marks set by hand" in said
        assert place.read_bytes() == before


@pytest.mark.nightly
def test_garbage_anywhere_never_ends_in_a_traceback(graded):
    """Every page is written over in turn; the command says so, or nothing was lost."""
    place, chance = place_of(graded), random.Random(7)
    whole = place.read_bytes()
    good = totals(json_of("grade", graded))
    for start in range(0, len(whole), 8192):
        data = bytearray(whole)
        at = start + chance.randrange(4096)
        data[at : at + 64] = chance.randbytes(64)
        for beside in place.parent.glob("gradebook.sqlite-*"):
            beside.unlink()
        place.write_bytes(data)
        result = _tried("report", graded)
        assert result.exit_code in {0, 1}
        result = _tried("grade", graded, "--json")
        if result.exit_code == 0:
            assert totals(json.loads(result.stdout)) == good
        else:
            assert "gradebook" in result.stderr


def _tried(*arguments):
    """Run a command, whether it ends well or with a word."""
    from click.testing import CliRunner

    from generator.cli import main

    result = CliRunner().invoke(main, list(map(str, arguments)))
    if not isinstance(result.exception, SystemExit | None):
        raise result.exception
    return result


CHANGES = [
    "update grading set marks = x'ff00'",
    "update grading set graded_at = 'yesterday'",
    "update hand_in set received_at = '2026-01-01'",
    "update hand_in set newest_entry = 7",
    "update hand_in set journal = 'not packed'",
    "update standing set late_days = 'many'",
    "update standing set deducted_percent = 'all'",
    "update gradebook_version set number = -1",
    "drop table standing",
    "alter table grading rename column marks to notes",
    "insert into mark_override (set_id, student, exercise, step, mark, reason, "
    "made_at, out_of) select set_id, student, 'one', 'cause', 'full', '', '', 0 "
    "from hand_in",
    "update returned_file set status = 'lost'",
    "pragma writable_schema = on; update sqlite_master set sql = 'x'",
]


@pytest.mark.parametrize("statement", CHANGES)
def test_changed_rows_never_end_in_a_traceback(graded, statement):
    """What no grading can have written is told as such by the command that needs it."""
    change(graded, *statement.split("; "))
    said = [_tried(command, graded).stderr for command in ("report", "grade")]
    damaged = f"{place_of(graded)}: its content is damaged"
    assert any(damaged in each for each in said)


def full_marks(own, student):
    """Give a student full marks in every step, as a person with a program would."""
    with sqlite3.connect(place_of(own)) as database:
        query = "select id, marks from grading where student = ?"
        for id_, text in database.execute(query, [student]).fetchall():
            marks = json.loads(marks_text(text))
            for step in (step for one in marks for step in one["steps"]):
                step["mark"] = step["out_of"]
            changed = json.dumps(marks, separators=(",", ":")).encode()
            database.execute(
                "update grading set marks = ?, mark = out_of where id = ?",
                [changed, id_],
            )
    database.close()


@pytest.mark.parametrize("is_returned", [True, False])
def test_changed_marks_are_named_and_made_anew(graded, is_returned):
    """A report refuses them; grading marks from the journal, even without the file."""
    before = json.loads((_tried("report", graded, "--json")).stdout)
    (file,) = (p.name for p in (graded / "handed-in").glob("*-s01.jsonl"))
    full_marks(graded, "s01")
    if not is_returned:
        (graded / "handed-in" / file).unlink()
    said = error_of("report", graded)
    assert f"changed the marks of s01 ({file})" in said
    assert "s02" not in said
    assert "Grade the set again" in said
    result = run("grade", graded, "--json")
    assert json.loads(result.stdout)["marked_again"] == [
        {"student": "s01", "name": file}
    ]
    assert f"s01 ({file}): something else than grading had" in result.stderr
    assert json_of("report", graded)["students"] == before["students"]
    with sqlite3.connect(place_of(graded)) as database:
        query = "select count(*) from grading where student = 's01'"
        # The changed row stays, to be looked at.
        assert database.execute(query).fetchone() == (2,)
    database.close()
    assert json_of("grade", graded)["marked_again"] == []


def other_rubric(own):
    """A copy of a set that weighs the cause otherwise, with the same gradebook."""
    copy = shutil.copytree(own, own.with_name("other"))
    rubric = copy / "for-instructor" / "rubric.toml"
    text = rubric.read_text("utf-8").replace("cause = 20", "cause = 100")
    rubric.write_text(text, encoding="utf-8")
    return copy


@pytest.mark.parametrize("moment", ["record", "settle", "account", "written"])
def test_two_rubrics_at_once_never_mix(own, monkeypatch, moment):
    """Whenever another grader comes in between, all is of one rubric or the other."""
    other, address = other_rubric(own), f"sqlite:///{own / 'shared.sqlite'}"
    (own / "results").rename(own / "no-results")
    other_results = other / "results"
    shutil.rmtree(other_results, ignore_errors=True)
    other_results.symlink_to(own / "results", target_is_directory=True)
    (own / "results").mkdir()
    monkeypatch.setattr("generator.grading.class_grading._BATCH", 1)
    calls = []

    def between(wrapped):
        def wrapper(*arguments, **named):
            calls.append(moment)
            if len(calls) == (2 if moment == "record" else 1):
                run("grade", other, "--gradebook", address)
            return wrapped(*arguments, **named)

        return wrapper

    if moment == "written":
        from generator.grading import class_grading as marking

        monkeypatch.setattr(marking, "write_reports", between(marking.write_reports))
    else:
        monkeypatch.setattr(Gradebook, moment, between(getattr(Gradebook, moment)))
    summary = json_of("grade", own, "--gradebook", address)
    monkeypatch.undo()
    outs = {one["out_of"] for one in summary["students"]}
    assert len(outs) == 1
    told = {row.split(",")[5] for row in _lines(own / "results" / "marks.csv")[1:]}
    assert len(told) == 1
    pages = files_below(own / "results")
    run("report", own, "--gradebook", address)
    assert files_below(own / "results") == pages


def _lines(path):
    return path.read_text("utf-8-sig").splitlines()


# Mounts a small disk for each command in turn and fills it; what each one says.
ON_SMALL_DISKS = """
import json, os, shutil, subprocess, sys
from pathlib import Path
from click.testing import CliRunner
import generator.site.build as build
from generator.cli import main
own, shared, cases = sys.argv[1], sys.argv[2], json.loads(sys.argv[3])
build.shared_part = lambda _: Path(shared)
told = []
for number, (kb, arguments) in enumerate(cases):
    disk = Path(own).with_name(f"disk-{number}")
    disk.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={kb}k", "tmpfs", str(disk)]
    if subprocess.run(mount).returncode:
        sys.exit(77)
    shutil.copytree(own, disk / "set")
    os.chdir(disk)
    result = CliRunner().invoke(main, arguments)
    if not isinstance(result.exception, SystemExit | None):
        raise result.exception
    told.append((result.exit_code, result.stderr))
print(json.dumps(told))
"""


def on_small_disks(own, shared, cases):
    """Run commands on copies of a set, each on a disk of its own that is soon full."""
    if shutil.which("unshare") is None:
        stop("no unshare on this computer, to mount a small disk with")
    kb = sum((path.stat().st_size + 4095) // 4096 * 4 + 4 for path in own.rglob("*"))
    sized = json.dumps([(kb + room_kb, arguments) for room_kb, arguments in cases])
    user = ["unshare", "-m"] if os.geteuid() == 0 else ["unshare", "-rm"]
    code = [sys.executable, "-c", ON_SMALL_DISKS, str(own), str(shared), sized]
    done = subprocess.run([*user, *code], capture_output=True, text=True, check=False)
    if done.returncode == 77 or "unshare failed" in done.stderr:
        stop("this user may not mount a small disk")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


SMALL = ("--students=1", "--exercises=1", "--lessons=two-circuits")
# How much room each has beside what copies of this set take at most [kB], and where the
# file lies that it cannot write.
FULL = [
    (0, ["grade", "set"], "set/"),
    (40, ["grade", "set"], "set/"),
    (120, ["grade", "set"], "set/"),
    (300, ["grade", "set"], "set/"),
    (-40, ["generate", *SMALL, "--out=more"], (".more.part", "more/")),
    (12, ["handouts", "set"], "set/"),
    # While what all students share is copied, and while theirs is written.
    (200, ["site", "set"], "set/.site.part-"),
    (340, ["site", "set"], "set/.site.part-"),
]


@pytest.mark.nightly
def test_full_disk_is_told_with_the_file(own, tmp_path):
    """One sentence names what could not be written, and calls nothing damaged."""
    shutil.rmtree(own / "results")
    shared = tmp_path / "shared"
    for part in ("files", "api/contents"):
        (shared / part).mkdir(parents=True)
    (shared / "python.wasm").write_bytes(bytes(400_000))
    cases = [(room_kb, arguments) for room_kb, arguments, _ in FULL]
    told = on_small_disks(own, shared, cases)
    for (code, said), (_, arguments, place) in zip(told, FULL, strict=True):
        assert code == 1, (arguments, said)
        assert is_calm(said)
        error = said.partition("Error: ")[2]
        assert "the disk is full" in error
        assert error.startswith(place)


@pytest.fixture
def server():
    """A PostgreSQL server of this test's own, to be stopped."""
    library("psycopg")
    if not programs():
        stop("no PostgreSQL on this computer")
    with postgres_server() as server:
        yield server


def test_server_that_stops_in_mid_grading_is_told(own, server, monkeypatch):
    """What was recorded stands, nothing is called damaged, and then all is right."""
    address = server.new_database()
    monkeypatch.setattr("generator.grading.class_grading._BATCH", 1)
    record, calls = Gradebook.record, []

    def stopping(*arguments):
        calls.append(1)
        if len(calls) == 2:
            server.stop()
        return record(*arguments)

    monkeypatch.setattr(Gradebook, "record", stopping)
    for _ in ("as it stops", "while it is down"):
        said = error_of("grade", own, "--gradebook", address)
        assert "the database does not answer" in said
        assert is_calm(said)
    server.start()
    graded = json_of("grade", own, "--gradebook", address)
    assert graded["gradings_added"] == 1
    assert totals(graded) == totals(json_of("grade", own))


LOCKS = "lock table gradebook_version", "select pg_advisory_xact_lock(7031986)"


def test_lock_of_a_server_is_waited_for_only_so_long(own, server, monkeypatch):
    """A table that another program holds is told after some seconds."""
    address = server.new_database()
    run("grade", own, "--gradebook", address)
    monkeypatch.setattr("answer_keys.gradebook.gradebook_engine.PATIENCE_S", 0.2)
    engine = sa.create_engine(address)
    with engine.begin() as other:
        for held in LOCKS:
            other.execute(sa.text(held))
            for command in ("grade", "report"):
                said = error_of(command, own, "--gradebook", address)
                assert "another program has locked the gradebook" in said
                assert is_calm(said)
    engine.dispose()
    run("report", own, "--gradebook", address)


def test_server_says_what_it_keeps_of_a_forgotten_student(own, server):
    """Deleted rows lie on in its tables and its log, which only it can clear."""
    address = server.new_database()
    run("grade", own, "--gradebook", address)
    told = json_of("grade", own, "--gradebook", address, "--forget-student", "s01")
    assert any("VACUUM FULL" in each and "log" in each for each in told["kept"])


@pytest.mark.nightly
def test_graders_with_two_rubrics_take_turns_on_a_server(own, server):
    """Two processes at once, twice: what either says is of one rubric alone."""
    sets = own, other_rubric(own)
    alone = [marks_told(json_of("grade", each)) for each in sets]
    assert alone[0] != alone[1]
    for _ in range(2):
        address = server.new_database()
        graders = [grader(each, address) for each in sets]
        for process in graders:
            said, fault = process.communicate()
            assert process.returncode == 0, fault
            assert marks_told(json.loads(said)) in alone
        run("report", own, "--gradebook", address)
        assert (
            len({row.split(",")[5] for row in _lines(own / "results/marks.csv")}) == 2
        )


def grader(own, address):
    """A process of its own that grades a set into a server's gradebook."""
    code = "from generator.cli import main; main()"
    command = [sys.executable, "-c", code, "grade", own, "--gradebook", address]
    pipe = subprocess.PIPE
    return subprocess.Popen([*command, "--json"], text=True, stdout=pipe, stderr=pipe)


def marks_told(summary):
    """Total of each student, and of how much."""
    return [(one["id"], one["total"], one["out_of"]) for one in summary["students"]]
