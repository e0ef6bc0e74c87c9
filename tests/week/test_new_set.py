"""A new set is told before it is written, and written as it was told."""

from dataclasses import replace

import pytest

from generator.errors import ClassSetError
from generator.week.class_list import invented_list
from generator.week.new_set import NewSet, generate, preview, preview_workbook
from generator.workbooks.class_workbooks import set_id_of
from tests.cli.command import files_below
from tests.drawn import SECRET
from workbook.texts import speaking

LESSONS = ("two-circuits", "mixed-diagnosis")


@pytest.fixture
def asked(tmp_path):
    """A small practice set."""
    return NewSet(
        out=tmp_path / "set", lessons=LESSONS, class_list=invented_list(2), exercises=2
    )


def test_preview_tells_what_is_written_under_the_same_secret(asked, tmp_path):
    """Kinds and the first workbook are those of the set, and nothing is written."""
    told = preview(asked, SECRET)
    first = preview_workbook(asked, SECRET)
    assert list(tmp_path.iterdir()) == []
    made = generate(asked, secret=SECRET)
    assert made.drawn == told
    assert made.class_set.workbook_file("s01").read_text("utf-8") == first
    assert made.class_set.set_id == set_id_of(SECRET)


def test_preview_counts_kinds_and_minutes(asked):
    """A student of both lessons has one diagnosis and one of questions."""
    told = preview(asked, SECRET)
    assert {kind: most for kind, _, most in told.kinds}["diagnosis"] == 1
    assert told.minutes in (20, 25, 30)
    assert "1 diagnosis, " in told.text
    assert told.text.endswith("; causes of their own for each student")
    with speaking("de"):
        assert "1 Diagnose, " in told.text


def test_graded_class_is_told_that_causes_are_the_same(tmp_path):
    """Whoever gives out a graded set knows what a whisper is worth."""
    asked = NewSet(out=tmp_path / "set", mode="graded", class_list=invented_list(3))
    assert not preview(asked, SECRET).is_same_for_all
    told = preview(replace(asked, causes="same"), SECRET)
    assert told.is_same_for_all
    assert told.text.endswith("so that one can tell another the cause of a load")
    assert all(fewest == most for _, fewest, most in told.kinds)


class CancelledError(Exception):
    """What a page raises when its user has had enough."""


def test_progress_that_raises_ends_the_work_and_leaves_nothing(asked, tmp_path):
    """Stages have ids that stay the same in all languages."""
    told = []

    def cancel(stage, done, total):
        told.append((stage, done, total))
        raise CancelledError

    with pytest.raises(CancelledError):
        generate(asked, tell=cancel)
    assert told == [("drawing", 1, 2)]
    assert files_below(tmp_path) == {}


def test_set_that_exists_is_never_overwritten(asked):
    """Also where only a folder has its name."""
    asked.out.mkdir()
    with pytest.raises(ClassSetError, match="exists already"):
        generate(asked)
