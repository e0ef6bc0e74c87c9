"""The report is written from the gradebook alone."""

from __future__ import annotations

import shutil

from tests.cli.command import error_of, files_below, json_of, run


def test_report_is_that_of_the_grading_without_what_was_handed_in(own):
    """Nothing is read but key, roster and gradebook, and nothing is graded."""
    graded = json_of("grade", own)
    before = files_below(own / "results")
    shutil.rmtree(own / "handed-in")
    pages = [name for name in graded["written"] if name != "gradebook.sqlite"]
    for name in pages:
        (own / "results" / name).unlink()
    assert json_of("report", own)["written"] == pages
    assert files_below(own / "results") == before


def test_report_names_what_to_open(own):
    """Words name the page and how many students it is about."""
    run("grade", own)
    said = run("report", own).stderr
    page = own / "results" / "class-report.html"
    assert f"Reported on 2 of 2 students. Open {page}" in said


def test_set_that_was_not_graded_has_no_report(own):
    """The error says what to do first, and nothing is written."""
    before = files_below(own)
    error = error_of("report", own)
    assert "no gradebook yet; allowed is a set that 'clampbook grade' has" in error
    assert files_below(own) == before
