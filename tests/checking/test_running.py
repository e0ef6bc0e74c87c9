"""Workbooks run one after the other in one kernel, each as if it were alone."""

import nbformat
import pytest

from generator.checking.running import Runner

TITLE = "fan stands still"
SHOWS = f"from IPython.display import Pretty\nPretty('Exercise 1: {TITLE} (open it)')"
KEEPS = "import os, workbook\nworkbook.mine = kept = 1\nopen('left', 'w').close()\n"
LOOKS = (
    "import os, workbook\n"
    "assert 'kept' not in globals()\n"
    "assert not hasattr(workbook, 'mine')\n"
    "assert os.listdir() == ['second.ipynb']\n"
)


@pytest.fixture(scope="module")
def runner():
    """One kernel for all tests."""
    with Runner() as made:
        yield made


def written(folder, name, source):
    """A notebook with one code cell."""
    cell = nbformat.v4.new_code_cell(source, id="exercise-1")
    path = folder / f"{name}.ipynb"
    nbformat.write(nbformat.v4.new_notebook(cells=[cell]), path)
    return path


def test_nothing_of_a_workbook_is_left_for_the_next(runner, tmp_path):
    """Names, changes to our modules and files of one run are not there in the next."""
    for name, source in (("first", KEEPS), ("second", LOOKS)):
        path = written(tmp_path, name, source + SHOWS)
        assert runner.problems_of(path, [TITLE]) == []


def test_workbook_that_fails_spoils_none_after_it(runner, tmp_path):
    """A cell that raises, and one that ends its kernel, are told; then all goes on."""
    raises = written(tmp_path, "raises", "raise RuntimeError('no')")
    assert runner.problems_of(raises, [TITLE]) == ["does not run: RuntimeError: no"]
    ends = written(tmp_path, "ends", "import os; os._exit(1)")
    assert runner.problems_of(ends, [TITLE]) == ["does not run: Kernel died"]
    sound = written(tmp_path, "sound", SHOWS)
    assert runner.problems_of(sound, [TITLE]) == []


@pytest.mark.parametrize(
    ("source", "said"),
    [
        (
            "import sys; print('oh', file=sys.stderr)",
            "cell exercise-1 writes errors: oh",
        ),
        ("'Exercise 2'", "cell exercise-1 does not open its exercise"),
        # Where it stands alone, without a workbook's metadata, a form shows trouble.
        (
            "import workbook; workbook.exercise(1)",
            "cell exercise-1 does not open its exercise",
        ),
    ],
)
def test_cell_that_shows_no_exercise_is_told(runner, tmp_path, source, said):
    """A form never raises, so that what it shows is looked at."""
    assert said in runner.problems_of(written(tmp_path, "any", source), [TITLE])
