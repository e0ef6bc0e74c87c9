"""The worked examples that are kept beside the lessons are those that are written."""

import nbformat
import pytest

from lessons.loader import lesson_ids, read_lesson
from tests.upkeep.worked_notebook import notebook_file, worked_notebook

WRITE = "run: python -m tests.upkeep.worked_notebook"


@pytest.mark.parametrize("lesson", lesson_ids())
def test_kept_notebook_is_the_one_that_is_written(lesson):
    """Cells are the same; every cell of code was run, so that its outputs are held."""
    assert notebook_file(lesson).is_file(), WRITE
    kept = nbformat.read(notebook_file(lesson), as_version=4)
    written = worked_notebook(read_lesson(lesson))
    is_current = [c.source for c in kept.cells] == [c.source for c in written.cells]
    assert is_current, WRITE
    code = [cell for cell in kept.cells if cell.cell_type == "code"]
    assert all(cell.execution_count for cell in code)
    assert not any(o.output_type == "error" for cell in code for o in cell.outputs)
