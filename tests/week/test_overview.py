"""The sets of a folder, and at which step of the week each stands."""

import shutil

from generator.checking.validation import Validation
from generator.week.checking import keep_check
from generator.week.opened import opened_set
from generator.week.overview import next_text, sets_in, state_of
from workbook.texts import speaking


def test_set_goes_through_its_week(own):
    """Each step is told by what lies in the folder."""
    class_set = opened_set(own).class_set
    came = class_set.folder.parent / "came"
    class_set.handed_in.rename(came)
    assert state_of(class_set).step == "check"
    keep_check(class_set, Validation(workbooks={"a": ["bad"]}))
    assert state_of(class_set).step == "check"
    keep_check(class_set, Validation())
    assert state_of(class_set).step == "give out"
    (class_set.folder / "site").mkdir()
    assert state_of(class_set).step == "collect"
    shutil.copytree(came, class_set.handed_in)
    told = state_of(class_set)
    assert (told.step, told.files, told.graded) == ("mark", 2, 0)


def test_graded_set_is_to_be_seen_until_more_comes(graded):
    """A file that comes after the report is to be marked."""
    class_set = opened_set(graded).class_set
    report = class_set.results / "class-report.html"
    report.write_bytes(report.read_bytes())
    told = state_of(class_set)
    assert (told.step, told.files, told.graded, told.students) == ("see", 2, 2, 2)
    (class_set.handed_in / "late.jsonl").write_text("x")
    assert state_of(class_set).step == "mark"


def test_folder_is_listed_with_what_cannot_be_read(graded):
    """A set that somebody has broken is named, and hides no other."""
    folder = graded.parent
    (folder / "empty").mkdir()
    (folder / "broken").mkdir()
    (folder / "broken" / "set.toml").write_text("[set]\nformat = 1\n")
    told = {one.folder.name: one for one in sets_in(folder)}
    assert set(told) == {"graded", "broken"}
    assert "set.toml" in told["broken"].problem
    assert told["graded"].mode == "graded"


def test_next_step_is_told_in_both_languages():
    """It is what a page shows first."""
    english = next_text("mark")
    with speaking("de"):
        assert next_text("mark") != english
