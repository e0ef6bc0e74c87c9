"""A class from a school's information system, and its results back into it."""

from __future__ import annotations

import csv
import io
import json
import shutil
import zipfile

import pytest

from generator.sets import set_writing
from tests.cli.command import error_of, json_of, run
from tests.drawn import SECRET
from tests.sets.test_oneroster_roster import GUIDS, write_bundle


@pytest.fixture(scope="module")
def school(tmp_path_factory):
    """A set of one exercise for the class of a bundle, worked and graded."""
    folder = tmp_path_factory.mktemp("school")
    bundle, made = write_bundle(folder / "bundle"), folder / "week-3"
    asked = f"--students={bundle}", "--class=class-a", "--exercises=1"
    asked += ("--lessons=mixed-diagnosis",)
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("CLAMPBOOK_PASSPHRASE", raising=False)
        patch.setattr(set_writing, "new_class_secret", lambda: SECRET)
        run("generate", "--out", made, "--mode=graded", *asked)
        run("simulate", made, "--kinds=novice")
        json_of("grade", made)
    return made


def test_roster_goes_in_and_results_come_out_by_the_same_ids(school, tmp_path):
    """Users of the class are the students of the results; class and school as given."""
    archive = tmp_path / "results.zip"
    told = json_of("report", school, f"--write=oneroster={archive}")
    assert told["exports"] == [str(archive)]
    with zipfile.ZipFile(archive) as file:
        tables = {
            name: list(csv.DictReader(io.StringIO(file.read(name).decode())))
            for name in file.namelist()
        }
    results, (item,) = tables["results.csv"], tables["lineItems.csv"]
    assert {row["studentSourcedId"] for row in results} == set(GUIDS)
    assert item["classSourcedId"] == "class-a"
    assert item["schoolSourcedId"] == "school-1"
    assert item["academicSessionSourcedId"] == "term-1"
    marks = (school / "results" / "marks.csv").read_text("utf-8-sig")
    totals = {row["id"]: row["total"] for row in csv.DictReader(io.StringIO(marks))}
    assert {row["studentSourcedId"]: row["score"] for row in results} == totals


def test_line_item_is_due_on_the_day_of_the_deadline(school, tmp_path):
    """What the rubric says of hand-ins holds for the other system too."""
    own, archive = shutil.copytree(school, tmp_path / "own"), tmp_path / "results.zip"
    with (own / "for-instructor" / "rubric.toml").open("a") as rubric:
        rubric.write("\n[hand_ins]\ndeadline = 2099-12-01T12:00:00Z\n")
    run("report", own, f"--write=oneroster={archive}")
    with zipfile.ZipFile(archive) as file:
        assert ",2099-12-01,class-a," in file.read("lineItems.csv").decode()


def test_statements_name_nobody_unless_asked(school, tmp_path):
    """Codes that the class secret alone can make again; the same every time."""
    files = [tmp_path / name for name in ("a.jsonl", "b.jsonl", "named.jsonl")]
    for file in files[:2]:
        run("report", school, f"--write=xapi={file}", "--home-page=https://x.example")
    assert files[0].read_bytes() == files[1].read_bytes()
    text = files[0].read_text("utf-8")
    assert not any(told in text for told in ("Mira", "Ferrant", *GUIDS))
    accounts = [json.loads(line)["actor"]["account"] for line in text.splitlines()]
    assert {each["homePage"] for each in accounts} == {"https://x.example"}
    assert len({each["name"] for each in accounts}) == 2
    run("report", school, f"--write=xapi={files[2]}", "--names")
    assert all(told in files[2].read_text("utf-8") for told in ("Mira", *GUIDS))


def test_set_of_another_class_list_has_no_ids_for_the_system(graded, tmp_path):
    """What would be needed is said."""
    error = error_of("report", graded, f"--write=oneroster={tmp_path / 'x.zip'}")
    assert "OneRoster needs the ids of class and students" in error


def test_class_and_home_page_are_checked(own, tmp_path):
    """A class without a bundle, a class not chosen, and an address that is none."""
    out = tmp_path / "out"
    error = error_of("generate", "--out", out, "--students=3", "--class=x", code=2)
    assert "'3' is no OneRoster bundle" in error
    bundle = write_bundle(tmp_path / "bundle")
    error = error_of("generate", "--out", out, f"--students={bundle}")
    assert "class-a (Relays); class-b (Brakes)" in error
    error = error_of("report", own, "--home-page=school", code=2)
    assert "'school' is no address. Write one such as https://school.example" in error
