"""However many processes share the work, what is made and said is the same."""

import shutil

import pytest

from tests.cli.command import error_of, json_of


def made_by(workers, graded, folder):
    """All that several commands say and write of a copy of a graded set."""
    own = shutil.copytree(graded, folder / str(workers) / "SET")
    said = [
        json_of(command, own, "--workers", workers)
        for command in ("report", "handouts", "validate")
    ]
    below = [
        path
        for name in ("for-students", "for-instructor", "results/sheets")
        for path in sorted((own / name).rglob("*"))
        if path.is_file() and path.name != "checked.json"
    ]
    return said, {path.relative_to(own): path.read_bytes() for path in below}


@pytest.mark.release
@pytest.mark.nightly
def test_two_processes_make_what_one_does(graded, tmp_path, monkeypatch):
    """Sheets, handouts, slips and guide to the last byte, and every check."""
    monkeypatch.setattr("generator.week.on_paper.can_print", lambda: False)
    one, two = (made_by(workers, graded, tmp_path) for workers in (1, 2))
    assert one == two


@pytest.mark.parametrize("workers", [0, 61, "all"])
def test_number_of_processes_is_one_that_can_be(graded_set, workers):
    """Anything else is told."""
    said = error_of("report", graded_set, "--workers", workers, code=2)
    assert str(workers) in said
