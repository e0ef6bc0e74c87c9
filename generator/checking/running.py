"""Runs workbooks as Jupyter would: one kernel for all, a clean start for each."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack
from pathlib import Path
from tempfile import TemporaryDirectory, mkdtemp
from typing import TYPE_CHECKING, Any, Self

if TYPE_CHECKING:
    from nbclient import NotebookClient

# A cell takes a tenth of a second, and the first import some seconds.
_CELL_SECONDS = 60
# Nothing of the workbook before may be left: no name, no open form, none of our
# modules, and another folder.
_CLEAN_START = """\
%reset -f
import os, sys, ipywidgets
ipywidgets.Widget.close_all()
for name in [name for name in sys.modules if name.split(".")[0] == "workbook"]:
    del sys.modules[name]
os.chdir({folder!r})
%reset -f
"""


class Runner:
    """Runs one workbook after the other, each from a copy in a folder of its own.

    Starting a kernel takes several times as long as running a workbook, so they share
    one. Where a workbook hangs or ends it, a new one is started.
    """

    def __init__(self) -> None:
        self._stack = ExitStack()
        self._client: NotebookClient | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._stop()

    def problems_of(self, path: Path, titles: Sequence[str]) -> list[str]:
        """Run a workbook and say what goes wrong.

        Parameters
        ----------
        path : pathlib.Path
            A notebook that is known to be valid.
        titles : sequence of str
            What its exercises are called, in order.
        """
        # Loaded where a kernel is: it takes half a second.
        import nbformat
        from nbclient.exceptions import (
            CellExecutionError,
            CellTimeoutError,
            DeadKernelError,
        )

        notebook = nbformat.read(path, as_version=4)
        try:
            _run(self._client or self._started(), path, notebook)
        except CellExecutionError as error:
            # The text of this one is a traceback in colours.
            return [f"does not run: {error.ename}: {error.evalue}"]
        except (CellTimeoutError, DeadKernelError) as error:
            self._stop()
            return [f"does not run: {str(error).strip().splitlines()[-1]}"]
        code = [cell for cell in notebook.cells if cell.cell_type == "code"]
        return [*_errors(code), *_unopened(code, titles)]

    def _started(self) -> NotebookClient:
        """Start a kernel whose history and settings stay out of the user's home."""
        import nbformat
        from nbclient import NotebookClient

        home = self._stack.enter_context(TemporaryDirectory())
        self._client = NotebookClient(
            nbformat.v4.new_notebook(),
            timeout=_CELL_SECONDS,
            kernel_name="python3",
            store_widget_state=False,
            resources={"metadata": {"path": home}},
            extra_arguments=["--log-level=ERROR", "--HistoryManager.enabled=False"],
        )
        environment = {**os.environ, "IPYTHONDIR": home}
        self._stack.enter_context(self._client.setup_kernel(env=environment))
        return self._client

    def _stop(self) -> None:
        self._client = None
        self._stack.close()


def _run(client: NotebookClient, path: Path, notebook: Any) -> None:  # noqa: ANN401 - untyped library
    """Run the cells of a notebook; their outputs are put into it."""
    import nbformat

    # A copy: a journal that is begun stays out of the set.
    folder = mkdtemp(dir=client.resources["metadata"]["path"])
    shutil.copy(path, folder)
    first = nbformat.v4.new_code_cell(_CLEAN_START.format(folder=folder))
    # The same cells, so that their outputs come into ``notebook``, too.
    client.nb = nbformat.v4.new_notebook(cells=[first, *notebook.cells])
    client.reset_execution_trackers()
    for number, cell in enumerate(client.nb.cells):
        client.execute_cell(cell, number)


def _errors(code: Sequence[Any]) -> Iterator[str]:
    """What cells wrote to the error stream."""
    for cell in code:
        for output in cell.outputs:
            if output.get("name") == "stderr":
                yield f"cell {cell.id} writes errors: {output.text.splitlines()[0]}"


def _unopened(code: Sequence[Any], titles: Sequence[str]) -> Iterator[str]:
    """Exercises that show trouble, or nothing, in place of themselves."""
    for number, (cell, title) in enumerate(zip(code, titles, strict=True), start=1):
        shown = [_shown(output.get("data", {})) for output in cell.outputs]
        # "Exercise 1: TITLE (...)", in the language of the workbook.
        if not any(f" {number}: {title} (" in text for text in shown):
            yield f"cell {cell.id} does not open its exercise"


def _shown(data: Mapping[str, Any]) -> str:
    return str(data.get("text/plain", ""))
