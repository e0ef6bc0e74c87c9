"""What marks tell: report, answers, files for other programs; and what is kept."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from answer_keys.errors import ExportError
from answer_keys.interchange.formats import FORMATS
from generator.desk.line import Line
from generator.desk.work.asked import Asked, AskedError
from generator.week.answers import answers, qti
from generator.week.reporting import NO_HOME_PAGE, Wanted, export, report, result_of
from generator.week.students import everything_of, forget
from workbook.texts import _


def _reported(asked: Asked, line: Line) -> dict[str, Any]:
    """Write the report again; gives what to teach, and the sheets there are."""
    reported = report(asked.opened(), tell=line.progress)
    figures = reported.figures
    return {
        "teach": [asdict(one) for one in figures.teach],
        "sheets": [
            {"place": f"results/sheets/{one.sheet}", "name": one.name}
            for one in figures.result.graded
        ],
    }


def _answers(asked: Asked, _: Line) -> list[dict[str, Any]]:
    return [asdict(one) for one in answers(asked.opened())]


def _exported(asked: Asked, _line: Line) -> dict[str, Any]:
    """Write results for another program."""
    opened, kind = asked.opened(), asked.text("format")
    if kind == "qti":
        return asked.download("items-qti.zip", qti(opened)) | {"notes": []}
    if kind not in FORMATS:
        raise AskedError(_("{kind} is no format.").format(kind=repr(kind)))
    name = usual = FORMATS[kind].file
    if kind == "column":
        name = _own_name(asked.text("name"), usual)
    wanted = Wanted(
        format=kind,
        file=asked.upload("upload") if kind == "column" else Path(name),
        decimal="comma" if asked.text("decimal") == "comma" else "point",
        column=asked.text("column"),
        id_column=asked.text("id_column", "id"),
        home_page=asked.text("home_page") or NO_HOME_PAGE,
        has_names=asked.is_ticked("has_names"),
    )
    try:
        made = export(opened, result_of(opened), wanted)
    except ExportError as error:
        # The instructor's own table is called here as its owner calls it.
        raise ExportError(str(error).replace(str(wanted.file), name)) from error
    return asked.download(name, made.data) | {"notes": list(made.notes)}


def _own_name(name: str, usual: str) -> str:
    """Name the filled table as the instructor's own is called, if that can be."""
    return name if re.fullmatch(r"[\w][\w .+-]{0,80}\.csv", name) else usual


def _everything(asked: Asked, _: Line) -> dict[str, str]:
    """Write all that is kept of one student."""
    student = asked.text("student")
    found = everything_of(asked.opened().class_set, student)
    text = json.dumps(found, ensure_ascii=False, indent=1)
    return asked.download(f"{student}.json", f"{text}\n".encode())


def _forgotten(asked: Asked, _: Line) -> dict[str, Any]:
    """Delete all that is kept of one student."""
    done = forget(
        asked.opened().class_set,
        asked.text("student"),
        with_hand_ins=asked.is_ticked("hand_ins"),
    )
    return {
        "rows": sum(done.rows.values()),
        "deleted": list(done.deleted),
        "left": list(done.left),
        "elsewhere": list(done.kept),
    }


WORK: Mapping[str, Callable[[Asked, Line], Any]] = {
    "report": _reported,
    "answers": _answers,
    "export": _exported,
    "everything-of": _everything,
    "forget": _forgotten,
}
