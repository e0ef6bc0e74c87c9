"""What counts is never taken from a stranger, and no folder stops a class."""

import json
import os
import shutil
import subprocess
import sys
import tempfile
import zipfile
from contextlib import suppress
from pathlib import Path

import pytest

from answer_keys.hand_ins import listing
from tests.absent import stop
from tests.bench.worked_class import copied
from tests.cli.command import error_of, json_of, run


def handed_in(own, student):
    """The file that a student handed in."""
    return next(own.glob(f"handed-in/hand-in-*-{student}.jsonl"))


def totals(summary):
    """Total of each student."""
    return {one["id"]: one["total"] for one in summary["students"]}


def files_of(summary):
    """What became of each file, by name."""
    return {file["name"]: file for file in summary["files"]}


def forged(text, **changes):
    """The headers and the first entry of a hand-in, worked by somebody else."""
    first = "".join(f"{line}\n" for line in text.splitlines()[:3])
    return copied(first, session="ffffffff", **changes)


def test_nobody_hands_in_as_another(own):
    """Work in the name of another, from one's own archive and dated in the future."""
    alone = json_of("grade", own)
    text = handed_in(own, "s02").read_text("utf-8")
    with zipfile.ZipFile(own / "handed-in" / "upload s01.zip", "w") as packed:
        for number in range(4):
            lines = forged(text, time=f"9999-12-31T23:59:5{number}.000001Z")
            packed.writestr(f"attacker {number}.txt", lines)
        packed.writestr("notes.csv", "set,student,exercise,step,item,answer,second\n")
    result = run("grade", own, "--json")
    summary = json.loads(result.stdout)
    assert totals(summary) == totals(alone)
    files = files_of(summary)
    assert files.pop("upload s01.zip/notes.csv")["status"] == "refused"
    names = [handed_in(own, student).name for student in ("s01", "s02")]
    assert [files.pop(name)["status"] for name in names] == ["graded", "graded"]
    for name, file in files.items():
        assert file["status"] == "undecided"
        assert "“upload s01.zip” names s01: ask whose work it is" in file["reason"]
        assert "dated 9999-12-31 23:59 UTC" in file["reason"]
        command = f"clampbook grade {own} --take s02 {file['code']}"
        assert f"{name}: undecided: " in result.stderr
        assert command in result.stderr


def test_hand_in_is_taken_by_its_code(own):
    """The command that grading has printed is all there is to it."""
    before = totals(json_of("grade", own))
    path = own / "handed-in" / "other computer.jsonl"
    path.write_text(forged(handed_in(own, "s02").read_text("utf-8")), "utf-8")
    code = files_of(json_of("grade", own))[path.name]["code"]
    assert totals(json_of("grade", own, "--take", "s02", code))["s02"] < before["s02"]
    report = (own / "results" / "class-report.html").read_text("utf-8")
    assert "Counts as you chose." in report
    assert totals(json_of("grade", own, "--take", "s02", "none")) == before
    assert "is the code of no hand-in of s02; take one of" in error_of(
        "grade", own, "--take", "s02", "77"
    )


def graded_without_rights(own):
    """Grade as somebody who cannot open every folder; exit code, JSON and words."""
    code = "from generator.cli import main; main()"
    command = [sys.executable, "-c", code, "grade", str(own), "--json"]
    if os.geteuid() == 0:
        if shutil.which("setpriv") is None:
            stop(
                "setpriv, which takes an administrator's rights away, is not installed"
            )
        less = "-dac_override,-dac_read_search"
        command = ["setpriv", f"--bounding-set={less}", f"--inh-caps={less}", *command]
    result = subprocess.run(command, capture_output=True, text=True, check=False)
    assert "Traceback" not in result.stderr
    return result.returncode, json.loads(result.stdout), result.stderr


@pytest.mark.skipif(os.name == "nt", reason="Windows has rights of another kind")
def test_folder_without_rights_costs_itself_alone(own):
    """It is named, all others are graded, and the exit code tells of it."""
    alone = totals(json_of("grade", own))
    closed = own / "handed-in" / "a" / "closed"
    closed.mkdir(parents=True)
    (closed / "x.jsonl").write_bytes(b"x")
    closed.chmod(0)
    code, summary, told = graded_without_rights(own)
    closed.chmod(0o700)
    assert code == 1
    assert totals(summary) == alone
    file = files_of(summary)["a/closed/"]
    assert file["status"] == "unread"
    assert "This folder cannot be opened (Permission denied)" in file["reason"]
    assert "a/closed/: unread: This folder" in told
    assert json_of("grade", own)["files"][0]["name"] == "a/closed/x.jsonl"


def test_flood_of_files_starves_nobody(own, monkeypatch):
    """The class is graded, what was not read is counted, and the exit code tells."""
    monkeypatch.setattr(listing, "MAX_FILES", 30)
    alone = totals(json_of("grade", own))
    flood = own / "handed-in" / "0"
    flood.mkdir()
    for number in range(40):
        (flood / f"{number:05}").touch()
    summary = json_of("grade", own, code=1)
    assert totals(summary) == alone
    files = files_of(summary)
    (rest,) = [one for one in files.values() if one["status"] == "unread"]
    assert rest["reason"].startswith("This and 11 more files were not read")
    assert len(files) == 31


@pytest.fixture
def in_memory(own):
    """The set in a file system that has any time, where there is one."""
    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as place:
        yield shutil.copytree(own, Path(place) / "own")


def test_time_of_a_file_outside_all_years_stops_nothing(in_memory):
    """The work came at the latest when it was graded."""
    own = in_memory
    rubric = own / "for-instructor" / "rubric.toml"
    late = "[hand_ins]\ndeadline = 2026-01-14T00:00:00Z\nlate_percent_per_day = 1\n"
    rubric.write_text(f"{rubric.read_text('utf-8')}\n{late}", "utf-8")
    path = handed_in(own, "s01")
    seconds = 10**12
    with suppress(OverflowError):
        os.utime(path, (seconds, seconds))
    if path.stat().st_mtime < seconds:
        pytest.skip("this file system has no such times")
    file = files_of(json_of("grade", own))[path.name]
    assert file["status"] == "graded"
    assert "Late, in day " in file["reason"]


def test_best_of_many_tries_says_how_many(own):
    """Random work in six archives may be the best, but not without a word."""
    rubric = own / "for-instructor" / "rubric.toml"
    rubric.write_text(f'{rubric.read_text("utf-8")}\n[hand_ins]\ncounts = "best"\n')
    path = handed_in(own, "s01")
    text = path.read_text("utf-8")
    for archive in range(6):
        with zipfile.ZipFile(own / "handed-in" / f"{archive}.zip", "w") as packed:
            for number in range(5):
                session = f"{archive:04}{number:04}"
                packed.writestr(f"{number}.jsonl", copied(text, session=session))
    files = json_of("grade", own)["files"]
    (counting,) = [
        f for f in files if f["student"] == "s01" and f["status"] == "graded"
    ]
    assert counting["reason"] == "The best of 31 hand-ins."
