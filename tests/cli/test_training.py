"""Many sets told together, and the next one drawn by what they have shown."""

import json
import shutil

import pytest

from answer_keys.observed import Observed
from generator.sets.class_set import read_class_set, read_observed, write_asked
from tests.cli.command import error_of, json_of, run
from tests.drawn import OTHER_SECRET


@pytest.fixture
def school(graded_once, tmp_path):
    """A folder with the same class twice, as if they were two."""
    for name in ("morning", "evening"):
        shutil.copytree(graded_once, tmp_path / "school" / name)
    return tmp_path / "school"


def test_page_over_the_sets_of_a_folder(school, tmp_path):
    """It is written where it is asked for, and names no student."""
    out = tmp_path / "training"
    result = run("report", school, "--training", out, "--json")
    told = json.loads(result.stdout)
    assert f"Reported on 2 of 2 classes. Open {out / 'training-report.html'}" in (
        result.stderr
    )
    assert [one["graded"] for one in told["classes"]] == [2, 2]
    page = (out / "training-report.html").read_text()
    names = [name for _, name in read_class_set(school / "morning").roster]
    assert all(name not in page for name in names)
    # A folder of sets stands for each of them.
    each = [school / name for name in ("evening", "morning")]
    assert json_of("report", *each, "--training", out) == told
    assert (out / "training-report.html").read_text() == page


def test_gradebook_of_a_school_tells_the_same(own, tmp_path):
    """All sets in one database are read together."""
    run("grade", own)
    alone = json_of("report", own, "--training", tmp_path / "alone")
    address = f"--gradebook=sqlite:///{tmp_path / 'school.sqlite'}"
    run("grade", own, address)
    shutil.rmtree(own / "results")
    together = json_of("report", own, "--training", tmp_path / "all", address)
    alone.pop("written"), together.pop("written")
    assert together == alone
    assert together["classes"][0]["graded"] == 2


def test_what_does_not_go_together_is_told(school, tmp_path):
    """Several sets have no class report, and no table of marks."""
    each = [school / name for name in ("evening", "morning")]
    said = error_of("report", *each, code=2)
    assert "2 sets are named. Name one, or give --training FOLDER" in said
    out = f"--training={tmp_path / 'out'}"
    said = error_of("report", *each, out, f"--write=csv={tmp_path / 'x.csv'}", code=2)
    assert "--training goes with neither --write nor --pdf" in said
    said = error_of("report", tmp_path / "nowhere", out)
    assert "there is no such folder" in said


def test_sets_without_grading_are_left_out(own, tmp_path):
    """Where there is none at all, that is what is said."""
    said = error_of("report", own, "--training", tmp_path / "out")
    assert "nothing to report: no class was graded yet" in said
    assert not (tmp_path / "out").exists()


def test_set_is_drawn_by_the_file_and_keeps_it(tmp_path, monkeypatch):
    """It is proved again from its own copy of it."""
    from generator.sets import set_writing

    monkeypatch.setattr(set_writing, "new_class_secret", lambda: OTHER_SECRET)
    given = Observed(after=("k7m2q",), tests={"load_current": 2.0})
    write_asked(tmp_path / "difficulty.json", given)
    asked = "--students=1", "--exercises=1", "--lessons=high-load-current"
    own = tmp_path / "week"
    run("generate", "--out", own, *asked, "--difficulty", tmp_path / "difficulty.json")
    assert read_class_set(own).request.observed == given
    assert read_observed(own / "for-instructor" / "difficulty.json") == given
    (record,) = map(json.loads, run("show", own, "--json").stdout.splitlines())
    planned = record["planned"]
    assert record["difficulty"]["observed"] == pytest.approx(
        2.0 * planned.count("load_current") / len(planned) if planned else 0.0
    )
    assert json_of("validate", own)["sound"]


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("{}", "tells nothing"),
        ("[]", "“the whole file” is not what belongs there"),
        ('{"after": ["a"], "faults": {"x": "hard"}}', "“faults.x” is not what"),
        ('{"after": ["a"], "faults": {"x": 101}}', "more than 100 %"),
    ],
)
def test_file_that_is_none_is_told(tmp_path, text, problem):
    """With what to name in its place, before anything is drawn."""
    file = tmp_path / "difficulty.json"
    file.write_text(text)
    said = error_of("generate", "--out", tmp_path / "x", "--difficulty", file)
    assert problem in said
    said = error_of("generate", "--out", tmp_path / "x", "--difficulty", tmp_path / "y")
    assert "cannot be read" in said
