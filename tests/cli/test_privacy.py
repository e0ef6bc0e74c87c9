"""Who may read what tells of students, and what is left of one who is forgotten."""

import os
import shutil
import stat
from pathlib import Path

import pytest

from tests.cli.command import error_of, json_of, run

if os.name == "nt":
    pytest.skip("Windows has no such rights", allow_module_level=True)


def rights(path):
    """Rights of a file or folder."""
    return stat.S_IMODE(path.stat().st_mode)


@pytest.fixture
def open_handed():
    """A user whose new files everybody may read and write."""
    before = os.umask(0)
    yield
    os.umask(before)


@pytest.mark.usefixtures("open_handed")
def test_names_and_marks_are_for_their_owner_alone(tmp_path):
    """Whatever the umask; what students get stays open to all."""
    week = tmp_path / "week"
    asked = "--students=1", "--exercises=1", "--lessons=control-side"
    run("generate", *asked, "--out", week)
    run("simulate", week)
    exported = tmp_path / "s01.json"
    run("grade", week)
    run("report", week, f"--write=csv={tmp_path / 'marks.csv'}")
    run("grade", week, "--export-student", "s01", exported)
    own = [week / "for-instructor", week / "results"]
    assert {rights(folder) for folder in own} == {0o700}
    files = [path for folder in own for path in folder.rglob("*") if path.is_file()]
    names = {path.name for path in files}
    assert {"roster.csv", "gradebook.sqlite", "marks.csv", "sheet-s01.html"} <= names
    open_ones = {"rubric.toml", ".gitignore"}
    files += [week / "set.toml", exported, tmp_path / "marks.csv"]
    loose = {p.name for p in files if rights(p) != 0o600} - open_ones
    assert loose == set()
    (workbook,) = (week / "for-students" / "s01").iterdir()
    assert rights(workbook) & 0o044 == 0o044


def test_gradebook_that_its_owner_opened_to_others_stays_so(graded):
    """Only what is new is closed: two colleagues may share one gradebook."""
    place = graded / "results" / "gradebook.sqlite"
    place.chmod(0o660)
    run("grade", graded)
    assert rights(place) == 0o660


@pytest.mark.parametrize(
    ("was", "now"), [("edition = 1", "edition = 2"), ('"graded"', '"practice"')]
)
@pytest.mark.parametrize("command", ["grade", "validate", "report"])
def test_set_file_that_speaks_of_another_key_is_told(graded, command, was, now):
    """The key is sealed, so the other file is wrong; what to write there is said."""
    path = graded / "set.toml"
    text = path.read_text("utf-8")
    assert was in text
    path.write_text(text.replace(was, now), encoding="utf-8")
    said = error_of(command, graded)
    what, value = ("edition", "1") if "edition" in was else ("mode", "graded")
    assert f"{path}: says {what}" in said
    assert f"is of {what} {value}; write {value} there" in said


def test_others_reasons_no_longer_name_a_forgotten_student(graded):
    """They are listed and blanked, and the sheet that showed one goes; marks stay."""
    roster = (graded / "for-instructor" / "roster.csv").read_text("utf-8")
    name = next(
        row.partition(",")[2].strip('"')
        for row in roster.splitlines()
        if row.startswith("s01,")
    )
    table = graded / "by-hand.csv"
    table.write_text(
        "student,exercise,step,mark,reason\n"
        f"s02,1,cause,0,{name} (s01) copied from her\n"
        "s02,1,correction,0,oral\n",
        encoding="utf-8",
    )
    before = json_of("grade", graded, "--overrides", table)["students"][1]
    table.unlink()
    late = graded / "handed-in" / "s01 again.jsonl"
    late.write_bytes(b"")
    sheet = graded / "results" / "sheets" / "sheet-s02.html"
    assert name in sheet.read_text("utf-8")
    told = json_of("grade", graded, "--forget-student", "s01")
    assert {
        "table": "mark_override",
        "student": "s02",
        "exercise": 1,
        "step": "cause",
    } in told["blanked"]
    assert "results/sheets/sheet-s02.html" in told["deleted"]
    assert "handed-in/s01 again.jsonl" in told["left"]
    assert any("backups" in each for each in told["kept"])
    for path in (graded / "results").rglob("*"):
        assert path.is_dir() or name.encode() not in path.read_bytes(), path
    for path in (graded / "handed-in").glob("*s01*"):
        path.unlink()
    after = json_of("grade", graded)["students"][1]
    assert after["total"] == before["total"]
    text = sheet.read_text("utf-8")
    assert "The reason named a student whose data were deleted." in text
    assert "oral" in text


def test_leftovers_of_a_killed_generator_are_listed(graded):
    """They hold the class list and the secret, under a hidden name."""
    left = Path(f"{graded.parent}/.{graded.name}.part-77")
    shutil.copytree(graded / "for-instructor", left / "for-instructor")
    told = json_of("grade", graded, "--forget-student", "s01")
    assert str(left) in told["left"]
