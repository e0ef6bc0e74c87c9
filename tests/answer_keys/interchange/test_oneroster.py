"""Results as OneRoster 1.2 CSV: what the binding asks for, and the same again."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import date

import pytest

from answer_keys.errors import ExportError
from answer_keys.interchange.oneroster import oneroster_results
from answer_keys.interchange.school_class import OneRosterClass
from tests.answer_keys.interchange.classes import HOSTILE, class_of, student

ITS = OneRosterClass(id="class-7", school="school-1", session="term-2")
ASSIGNED = date(2026, 11, 20)
CLASS = class_of(student(), student("s02", "Zoë B", file=None))
# Header lines and vocabulary as two open implementations of the binding have them,
# which were read and not run: that of LongsightGroup (file
# one-roster-csv-gradebook-schema.ts) and meibo of hanachin (file manifest.rb).
HEADERS = {
    "categories.csv": "sourcedId,status,dateLastModified,title,weight",
    "lineItems.csv": "sourcedId,status,dateLastModified,title,description,assignDate,"
    "dueDate,classSourcedId,categorySourcedId,academicSessionSourcedId,"
    "resultValueMin,resultValueMax,schoolSourcedId",
    "results.csv": "sourcedId,status,dateLastModified,lineItemSourcedId,"
    "studentSourcedId,scoreStatus,score,scoreDate,comment,textScore,classSourcedId,"
    "inProgress,incomplete,late,missing",
    "manifest.csv": "propertyName,value",
}
REQUIRED = {
    "categories.csv": {"sourcedId", "title"},
    "lineItems.csv": {
        "sourcedId",
        "title",
        "assignDate",
        "dueDate",
        "classSourcedId",
        "categorySourcedId",
        "academicSessionSourcedId",
        "schoolSourcedId",
    },
    "results.csv": {
        "sourcedId",
        "lineItemSourcedId",
        "studentSourcedId",
        "scoreStatus",
        "scoreDate",
    },
}
SCORE_STATUS = {
    "exempt",
    "fully graded",
    "not submitted",
    "partially graded",
    "submitted",
}


def files_of(data):
    """Every file of an archive, as text."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name).decode() for name in archive.namelist()}


def rows_of(text):
    """The rows of a file, by its heading."""
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


@pytest.fixture(scope="module")
def files():
    """The archive of two students, of whom one handed in."""
    return files_of(oneroster_results(CLASS, ITS, ASSIGNED))


def test_files_have_the_headers_of_the_binding(files):
    """All columns in their order, also those that are empty; CRLF, no mark."""
    heads = {name: text.partition("\r\n")[0] for name, text in files.items()}
    assert heads == HEADERS
    assert not any(text.startswith("\ufeff") for text in files.values())


def test_required_fields_are_filled_and_others_of_bulk_are_not(files):
    """In the mode bulk, status and dateLastModified stay empty (from memory)."""
    for name, required in REQUIRED.items():
        for row in rows_of(files[name]):
            assert all(row[column] for column in required)
            assert row["status"] == row["dateLastModified"] == ""


def test_manifest_names_every_file_and_what_is_there(files):
    """21 kinds of data files, three of them here (meibo, manifest.rb)."""
    said = {row["propertyName"]: row["value"] for row in rows_of(files["manifest.csv"])}
    assert said["manifest.version"] == "1.0"
    assert said["oneroster.version"] == "1.2"
    modes = {name: mode for name, mode in said.items() if name.startswith("file.")}
    assert len(modes) == 21
    bulk = {f"{name[5:]}.csv" for name, mode in modes.items() if mode == "bulk"}
    assert bulk == set(HEADERS) - {"manifest.csv"}
    assert set(modes.values()) == {"bulk", "absent"}


def test_results_are_as_they_were_agreed(files):
    """Golden: a mark, and a student who handed in nothing and so has no zero."""
    first, second = (
        {name: value for name, value in row.items() if value and "ourcedId" not in name}
        for row in rows_of(files["results.csv"])
    )
    assert first == {
        "scoreStatus": "fully graded",
        "score": "7.50",
        "scoreDate": "2026-11-27",
        "inProgress": "false",
        "incomplete": "false",
        "late": "false",
        "missing": "false",
    }
    assert second == {
        "scoreStatus": "not submitted",
        "scoreDate": "2026-11-27",
        "inProgress": "false",
        "incomplete": "false",
        "missing": "true",
    }


def test_references_lead_somewhere(files):
    """Results to their line item, this to its category, all to class and school."""
    (category,) = rows_of(files["categories.csv"])
    (item,) = rows_of(files["lineItems.csv"])
    results = rows_of(files["results.csv"])
    assert item["categorySourcedId"] == category["sourcedId"]
    assert (item["classSourcedId"], item["schoolSourcedId"]) == ("class-7", "school-1")
    assert item["academicSessionSourcedId"] == "term-2"
    assert (item["resultValueMin"], item["resultValueMax"]) == ("0", "10.00")
    assert {row["lineItemSourcedId"] for row in results} == {item["sourcedId"]}
    assert [row["studentSourcedId"] for row in results] == ["s01", "s02"]
    assert {row["scoreStatus"] for row in results} <= SCORE_STATUS


def test_same_results_give_the_same_bytes_and_changed_ones_the_same_ids():
    """A later archive takes the place of an earlier one in the system."""
    before = oneroster_results(CLASS, ITS, ASSIGNED)
    assert oneroster_results(CLASS, ITS, ASSIGNED) == before
    others = class_of(student("s02", "Zoë B"), student())
    ids = [
        {row["studentSourcedId"]: row["sourcedId"] for row in rows_of(text)}
        for data in (before, oneroster_results(others, ITS, ASSIGNED))
        for text in [files_of(data)["results.csv"]]
    ]
    assert ids[0] == ids[1]


@pytest.mark.parametrize("name", HOSTILE)
def test_names_do_not_leave(name):
    """The system knows the students: only their ids are told."""
    data = oneroster_results(class_of(student("s01", name)), ITS, ASSIGNED)
    assert data == oneroster_results(class_of(student()), ITS, ASSIGNED)


def test_class_without_results_is_told():
    """An archive of nothing would take marks away."""
    with pytest.raises(ExportError, match="no hand-in is graded yet"):
        oneroster_results(class_of(student(file=None)), ITS, ASSIGNED)
