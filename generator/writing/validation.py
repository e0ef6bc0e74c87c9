"""Checks a class set: every workbook sound, solvable, leak-free and repeatable."""

import json
import math
import os
import tempfile
from collections.abc import Callable, Container, Mapping
from pathlib import Path
from typing import Any

import nbformat
from nbclient import NotebookClient
from nbclient.exceptions import (
    CellExecutionError,
    CellTimeoutError,
    DeadKernelError,
)
from nbformat.validator import iter_validate

from answer_keys.class_secret import ClassSecret
from generator.model.network import Branch, Network, solve
from generator.writing.class_set import ClassSet, rebuilt_workbooks
from generator.writing.leaks import Forbidden, forbidden_strings, leaks_in
from generator.writing.notebook import Workbook, notebook_text
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
        One entry a file that students get or should get; an empty list is a sound one.
    """
    records: dict[str, list[Record]] = {}
    for record in key["exercises"]:
        records.setdefault(record["student"], []).append(record)
    found: dict[str, list[str]] = {}
    count = len(class_set.request.students)
    for number, workbook in enumerate(rebuilt_workbooks(class_set, secret), start=1):
        path = class_set.workbook_file(workbook.student)
        own = records.get(workbook.student, [])
        problems = _problems_of_file(
            path, workbook, forbidden_strings(secret.value, own)
        )
        problems += [p for record in own for p in problems_of_exercise(record)]
        found[_name(class_set, path)] = problems
        progress("validating workbooks", number, count)
    return found | _strays(class_set, found)


def _name(class_set: ClassSet, path: Path) -> str:
    return path.relative_to(class_set.folder).as_posix()


def _strays(class_set: ClassSet, known: Container[str]) -> dict[str, list[str]]:
    """Files that would be given out with the workbooks, and are none of them."""
    below = sorted((class_set.folder / "for-students").rglob("*"))
    names = [_name(class_set, p) for p in below if p.is_symlink() or not p.is_dir()]
    return {
        name: ["is no workbook of this set: remove it before you give the folder out"]
        for name in names
        if name not in known
    }


def _problems_of_file(
    path: Path, workbook: Workbook, forbidden: Forbidden
) -> list[str]:
    """What is wrong with a workbook as it lies on the disk."""
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return ["is missing"]
    except (OSError, UnicodeDecodeError) as error:
        return [f"cannot be read ({error})"]
    try:
        problems = _unfit_cells(_valid(text))
    except ValueError as error:
        return [f"is no valid notebook: {str(error).splitlines()[0]}"]
    if text != notebook_text(workbook):
        problems.append(
            "is not what its secret gives: the file, the lesson or the software "
            "has changed since it was written"
        )
    problems += leaks_in(text, forbidden, workbook.mode)
    # What has been changed is not run.
    return problems or _problems_of_run(path)


def _valid(text: str) -> dict[str, Any]:
    """Read a notebook, or raise why it is none."""
    try:
        content = json.loads(text)
    except RecursionError as error:
        raise ValueError("it is nested too deep") from error
    if not isinstance(content, dict):
        raise ValueError("it does not hold a table")
    fault = next(iter_validate(content, version=4, version_minor=5), None)
    if fault is not None:
        raise ValueError(str(fault))
    return content


def _unfit_cells(notebook: Mapping[str, Any]) -> list[str]:
    """What a workbook's cells must not have, and do."""
    problems = []
    for cell in notebook["cells"]:
        if cell.get("outputs") or cell.get("execution_count"):
            problems.append(f"cell {cell['id']} has outputs; allowed are none")
        if any(cell["metadata"].get(lock, True) for lock in ("editable", "deletable")):
            problems.append(f"cell {cell['id']} is not locked")
    if "widgets" in notebook["metadata"]:
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
