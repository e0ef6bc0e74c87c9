"""The sample notebook, run as a program runs it."""

import os
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest

from tests.workbook.sample import write_workbook

PROJECT = Path(__file__).parents[3]
# Ours first: it keeps the checker of notebooks from loading what takes seconds.
RUN = """
import sys, generator, nbformat
from nbclient import NotebookClient
notebook = nbformat.read(sys.argv[1], as_version=4)
client = NotebookClient(
    notebook, timeout=60, kernel_name="python3", store_widget_state=False,
    resources={"metadata": {"path": "."}},
)
client.execute()
nbformat.write(notebook, "executed.json")
"""


CHECK = "import sys, generator, pytest; sys.exit(pytest.main(sys.argv[1:]))"


def _run(folder, *command):
    """Run a Python command in the folder with Jupyter files of its own."""
    names = ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR")
    own = {name: str(folder / "jupyter" / name.lower()) for name in names}
    own |= {"IPYTHONDIR": str(folder / "ipython"), "PYTHONPATH": str(PROJECT)}
    return subprocess.run(
        [sys.executable, *command],
        cwd=folder,
        env=os.environ | own,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


@pytest.fixture(scope="module")
def executed(tmp_path_factory):
    """The folder of the sample notebook, with an executed copy of it."""
    folder = tmp_path_factory.mktemp("executed")
    path = write_workbook(folder)
    done = _run(folder, "-c", RUN, path.name)
    assert done.returncode == 0, done.stderr
    return folder


def test_cells_run_without_errors_or_warnings(executed):
    """Each cell gives its widget and its text form, and no stream of any kind."""
    notebook = nbformat.read(executed / "executed.json", as_version=4)
    outputs = [cell.outputs for cell in notebook.cells if cell.cell_type == "code"]
    assert [len(each) for each in outputs] == [1, 1]
    for number, (output,) in enumerate(outputs, 1):
        assert "application/vnd.jupyter.widget-view+json" in output.data
        assert output.data["text/plain"].startswith(f"Exercise {number}: Groomer")


def test_notebook_passes_nbval(executed):
    """A checker that runs the executed notebook again finds the same outputs."""
    workbook = next(executed.glob("clampbook-*.ipynb"))
    workbook.write_bytes((executed / "executed.json").read_bytes())
    options = ["-q", "-p", "no:cacheprovider", "--nbval"]
    done = _run(executed, "-c", CHECK, *options, workbook.name)
    assert done.returncode == 0, done.stdout
    assert "2 passed" in done.stdout
