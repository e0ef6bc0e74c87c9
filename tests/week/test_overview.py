"""The sets of a folder, and at which step of the week each stands."""

import shutil

from generator.checking.validation import Validation
from generator.week.checking import keep_check
from generator.week.opened import opened_set
from generator.week.overview import state_of
from generator.week.reporting import report


def test_set_goes_through_its_week(own):
    """Each step is told by what lies in the folder."""
    class_set = opened_set(own).class_set
    came = class_set.folder.parent / "came"
    class_set.handed_in.rename(came)
    assert state_of(class_set).step == "check"
    keep_check(class_set, Validation(workbooks={"a": ["bad"]}))
    assert state_of(class_set).step == "check"
    keep_check(class_set, Validation())
    assert state_of(class_set).step == "give"
    (class_set.folder / "site").mkdir()
    assert state_of(class_set).step == "collect"
    shutil.copytree(came, class_set.handed_in)
    told = state_of(class_set)
    assert (told.step, told.files, told.graded) == ("mark", 2, 0)


def test_graded_set_is_to_be_seen_until_more_comes(graded):
    """A file that comes after the grading is to be marked, whatever is reported."""
    class_set = opened_set(graded).class_set
    told = state_of(class_set)
    assert (told.step, told.files, told.graded) == ("see", 2, 2)
    (class_set.handed_in / "late.jsonl").write_text("x")
    report(opened_set(graded))
    assert state_of(class_set).step == "mark"
