"""Checks a class set: every workbook sound, solvable, leak-free and repeatable."""

import math
import os
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import nbformat
from nbclient import NotebookClient
from nbclient.exceptions import (
    CellExecutionError,
    CellTimeoutError,
    DeadKernelError,
)

from answer_keys.class_secret import ClassSecret
from generator.model.network import Branch, Network, solve
from generator.writing.class_set import ClassSet, rebuilt_workbooks
from generator.writing.leaks import forbidden_strings, leaks_in
from generator.writing.notebook import notebook_text
from generator.writing.records import plan_of

__all__ = ["problems_of_exercise", "problems_of_set"]

Progress = Callable[[str, int, int], None]
Record = Mapping[str, Any]
_CELL_SECONDS = 60
_RELATIVE, _ABSOLUTE = 1e-6, 1e-9


def problems_of_set(
    class_set: ClassSet,
    secret: ClassSecret,
    key: Mapping[str, Any],
    progress: Progress = lambda *_: None,
) -> dict[str, list[str]]:
    """Find everything that is wrong with a class set, by file.

    Parameters
    ----------
    class_set : ClassSet
    secret : ClassSecret
    key : mapping
        The opened answer key.
    progress : callable

    Returns
    -------
    dict
        One entry a workbook; an empty list is a sound one.
    """
    records: dict[str, list[Record]] = {}
    for record in key["exercises"]:
        records.setdefault(record["student"], []).append(record)
    found: dict[str, list[str]] = {}
    count = len(class_set.request.students)
    for number, workbook in enumerate(rebuilt_workbooks(class_set, secret), start=1):
        path = class_set.workbook_file(workbook.student)
        own = records.get(workbook.student, [])
        name = str(path.relative_to(class_set.folder))
        try:
            text = path.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as error:
            found[name] = [f"cannot be read ({type(error).__name__})"]
            continue
        problems = _problems_of_notebook(text)
        if text != notebook_text(workbook):
            problems.append(
                "is not what its secret gives: the file, the lesson or the software "
                "has changed since it was written"
            )
        if not problems:
            forbidden = forbidden_strings(secret.value, own)
            problems += leaks_in(text, forbidden, class_set.request.mode)
            problems += _problems_of_run(path)
        problems += [p for record in own for p in problems_of_exercise(record)]
        found[name] = problems
        progress("validating workbooks", number, count)
    return found


def _problems_of_notebook(text: str) -> list[str]:
    """What is wrong with a notebook as a document."""
    try:
        notebook = nbformat.reads(text, as_version=4)
        nbformat.validate(notebook)
    except (ValueError, nbformat.ValidationError) as error:
        return [f"is no valid notebook: {str(error).splitlines()[0]}"]
    problems = []
    for cell in notebook.cells:
        if cell.get("outputs") or cell.get("execution_count"):
            problems.append(f"cell {cell.id} has outputs; allowed are none")
        if cell.metadata.get("editable", True) or cell.metadata.get("deletable", True):
            problems.append(f"cell {cell.id} is not locked")
    if "widgets" in notebook.metadata:
        problems.append("holds stored widget state; allowed is none")
    return problems


def _problems_of_run(path: Path) -> list[str]:
    """Run a copy of a workbook as Jupyter would, in a folder of its own."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / path.name
        copy.write_bytes(path.read_bytes())
        notebook = nbformat.read(copy, as_version=4)
        client = NotebookClient(
            notebook,
            timeout=_CELL_SECONDS,
            kernel_name="python3",
            store_widget_state=False,
            resources={"metadata": {"path": folder}},
            extra_arguments=["--log-level=ERROR", "--HistoryManager.enabled=False"],
        )
        try:
            # The kernel's own history and settings stay out of the user's home.
            client.execute(env={**os.environ, "IPYTHONDIR": folder})
        except (CellExecutionError, CellTimeoutError, DeadKernelError) as error:
            return [f"does not run: {str(error).strip().splitlines()[-1]}"]
    return [
        f"cell {cell.id} writes errors: {output.text.splitlines()[0]}"
        for cell in notebook.cells
        for output in cell.get("outputs", [])
        if output.get("name") == "stderr"
    ]


def problems_of_exercise(record: Record) -> list[str]:
    """What is wrong with an exercise: its proof and its readings, done again."""
    where = f"exercise {record['exercise']}"
    return [f"{where}: {p}" for p in (*_unproved(record), *_wrong_readings(record))]


def _unproved(record: Record) -> list[str]:
    """Follow the plan through the actual outcomes to one repair, the right one."""
    table = record["reasoning"]
    faults = [fault["id"] for fault in table["faults"]]
    plan = plan_of(record)
    actual = faults.index(record["fault"]["id"])
    left: tuple[int, ...] = tuple(range(len(faults)))
    while (test := plan.best_test(left)) is not None:
        left = plan.after(left, test, record["tests"][test]["outcome"])
    if actual not in left:
        return ["its own readings rule its fault out"]
    repairs = {table["faults"][number]["repair"] for number in left}
    if repairs != {record["fault"]["repair"]}:
        return [f"{len(repairs)} repairs are left after all tests; allowed is one"]
    return []


def _wrong_readings(record: Record) -> list[str]:
    """Solve the network of each test again and compare."""
    problems = []
    for test in record["tests"]:
        value = test["true_value"]
        if test["measures"]["kind"] == "state" or value is None:
            continue
        again = _measured(test)
        if not math.isclose(again, value, rel_tol=_RELATIVE, abs_tol=_ABSOLUTE):
            problems.append(
                f"{test['id']} reads {value!r}, its network gives {again!r}"
            )
    return problems


def _measured(test: Mapping[str, Any]) -> float:
    setup, measures = test["setup"], test["measures"]
    branches = tuple(Branch(**branch) for branch in setup["branches"])
    if measures["kind"] == "resistance":
        # One volt behind one ohm drives the part: R = 1 V / I - 1 Ω.
        probe = Branch(
            "ohmmeter", measures["node_minus"], measures["node_plus"], 1.0, 1.0
        )
        network = Network(branches=(*branches, probe), ground=setup["ground"])
        return 1 / solve(network).current_a["ohmmeter"] - 1
    solution = solve(Network(branches=branches, ground=setup["ground"]))
    if measures["kind"] == "current":
        return solution.current_a[measures["branch"]]
    volts = solution.voltage_v
    return volts[measures["node_plus"]] - volts[measures["node_minus"]]
