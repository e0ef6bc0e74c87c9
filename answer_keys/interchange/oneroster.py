"""Results as OneRoster 1.2 CSV, for a school's information system.

References
----------
1EdTech, OneRoster CSV Binding 1.2.1, final release of 22 August 2023, of which only the
beginning was opened: a zip of CSV files with a manifest. Names and order of columns and
which must be filled were read from two open implementations of it, meibo (Ruby) and
oneroster of LongsightGroup (TypeScript). UTF-8, RFC 4180, and empty status and date in
the mode ``bulk`` are from memory.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from answer_keys.errors import ExportError
from answer_keys.gradebook.results import ClassResult, StudentResult
from answer_keys.interchange.ids import stable_id
from answer_keys.interchange.school_class import OneRosterClass
from answer_keys.written_files import zipped
from workbook.texts import _

DATA_FILES = (
    "academicSessions",
    "categories",
    "classes",
    "classResources",
    "courses",
    "courseResources",
    "demographics",
    "enrollments",
    "lineItemLearningObjectiveIds",
    "lineItems",
    "lineItemScoreScales",
    "orgs",
    "resources",
    "resultLearningObjectiveIds",
    "results",
    "resultScoreScales",
    "roles",
    "scoreScales",
    "userProfiles",
    "userResources",
    "users",
)
"""Every file that a manifest has to name, whether it is there or not."""

_COMMON = ("sourcedId", "status", "dateLastModified")
_COLUMNS: Mapping[str, tuple[str, ...]] = {
    "categories": (*_COMMON, "title", "weight"),
    "lineItems": (
        *_COMMON,
        "title",
        "description",
        "assignDate",
        "dueDate",
        "classSourcedId",
        "categorySourcedId",
        "academicSessionSourcedId",
        "resultValueMin",
        "resultValueMax",
        "schoolSourcedId",
    ),
    "results": (
        *_COMMON,
        "lineItemSourcedId",
        "studentSourcedId",
        "scoreStatus",
        "score",
        "scoreDate",
        "comment",
        "textScore",
        "classSourcedId",
        "inProgress",
        "incomplete",
        "late",
        "missing",
    ),
}
_MODES = {True: "bulk", False: "absent"}


def oneroster_results(
    result: ClassResult, its: OneRosterClass, assigned: date, due: date | None = None
) -> bytes:
    """Write the totals of a class as the results of one line item.

    Parameters
    ----------
    result : ClassResult
        Of a class whose student ids are the ``sourcedId`` of its users.
    assigned : datetime.date
        The day on which the set was made.
    due : datetime.date, optional
        The day of the deadline; without one, that of the last grading.

    Returns
    -------
    bytes
        A zip archive in the mode ``bulk``. Ids are made of the set's id, so that a
        later archive takes the place of an earlier one.

    Raises
    ------
    ExportError
        Where nobody's work was graded, so that there is no date and no full mark.
    """
    if not result.graded:
        raise ExportError(_("no hand-in is graded yet. Grade the class first."))
    item = _line_item(result, its, assigned, due)
    common = {"lineItemSourcedId": item["sourcedId"], "classSourcedId": its.id}
    category = {"sourcedId": item["categorySourcedId"], "title": "Diagnosis exercises"}
    results = [
        {"sourcedId": stable_id(result.set_id, "result", one.id), **common}
        | _score(one, item["dueDate"])
        for one in result.students
    ]
    files = {"categories": [category], "lineItems": [item], "results": results}
    return _archive({name: _csv(_COLUMNS[name], rows) for name, rows in files.items()})


def _line_item(
    result: ClassResult, its: OneRosterClass, assigned: date, due: date | None
) -> dict[str, str]:
    graded = [one.graded_at.date() for one in result.graded if one.graded_at]
    return {
        "sourcedId": stable_id(result.set_id, "line item"),
        "title": f"Relay diagnosis, set {result.set_id}",
        "assignDate": assigned.isoformat(),
        "dueDate": (due or max([assigned, *graded])).isoformat(),
        "classSourcedId": its.id,
        "categorySourcedId": stable_id(result.set_id, "category"),
        "academicSessionSourcedId": its.session,
        "resultValueMin": "0",
        "resultValueMax": f"{max(one.out_of for one in result.graded):.2f}",
        "schoolSourcedId": its.school,
    }


def _score(student: StudentResult, due: str) -> dict[str, str]:
    row = {"studentSourcedId": student.id, "inProgress": "false", "incomplete": "false"}
    if student.graded_at is None:
        missing = {"scoreStatus": "not submitted", "scoreDate": due, "missing": "true"}
        return row | missing
    return row | {
        "scoreStatus": "fully graded",
        "score": f"{student.total:.2f}",
        "scoreDate": student.graded_at.date().isoformat(),
        "late": "true" if student.late_days else "false",
        "missing": "false",
    }


def _csv(columns: Sequence[str], rows: Iterable[Mapping[str, str]]) -> str:
    """Write what machines read: exact, so that nothing is guarded or left out."""
    file = io.StringIO()
    table = csv.DictWriter(file, columns, restval="", lineterminator="\r\n")
    table.writeheader()
    table.writerows(rows)
    return file.getvalue()


def _archive(files: Mapping[str, str]) -> bytes:
    properties = {
        "manifest.version": "1.0",
        "oneroster.version": "1.2",
        **{f"file.{one}": _MODES[one in files] for one in DATA_FILES},
        "source.systemName": "Clampbook",
        "source.systemCode": "clampbook",
    }
    rows = [
        {"propertyName": name, "value": value} for name, value in properties.items()
    ]
    whole = {"manifest": _csv(("propertyName", "value"), rows), **files}
    return zipped({f"{name}.csv": text for name, text in whole.items()})
