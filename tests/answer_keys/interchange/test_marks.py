"""Marks for people: CSV and workbooks that no spreadsheet runs anything of."""

from __future__ import annotations

import csv
import io

import openpyxl
import pytest

from answer_keys.interchange.marks_files import marks_csv, marks_xlsx
from tests.answer_keys.interchange.classes import (
    HOSTILE,
    class_of,
    graded,
    step,
    student,
)

CLASS = class_of(student(), student("s02", "Zoë; B", file=None))


def rows_of_xlsx(data):
    """Every cell of the one sheet."""
    (sheet,) = openpyxl.load_workbook(io.BytesIO(data)).worksheets
    return [list(row) for row in sheet.iter_rows()]


def test_csv_is_as_it_was_agreed():
    """Golden: a byte order mark, CRLF, two decimals, nothing where nothing came."""
    assert marks_csv(CLASS) == (
        "\ufeffid,name,exercise 1,total,out of,hand-in\r\n"
        "s01,Mira Aldeen,7.50,7.50,10.00,a.jsonl\r\n"
        "s02,Zoë; B,,,,none\r\n"
    )


def test_csv_with_decimal_commas_has_semicolons():
    """Golden: where a comma stands before decimals, cells are parted otherwise."""
    assert marks_csv(CLASS, "comma") == (
        "\ufeffid;name;exercise 1;total;out of;hand-in\r\n"
        "s01;Mira Aldeen;7,50;7,50;10,00;a.jsonl\r\n"
        's02;"Zoë; B";;;;none\r\n'
    )


@pytest.mark.parametrize("decimal", ["point", "comma"])
@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_text_is_one_inert_cell_of_csv(name, decimal):
    """CWE-1236: no text begins as a formula does, and none breaks out of its cell."""
    text = marks_csv(class_of(student(name, name, file=name)), decimal)
    delimiter = ";" if decimal == "comma" else ","
    head, row = csv.reader(io.StringIO(text[1:], newline=""), delimiter=delimiter)
    assert len(row) == len(head)
    assert all(cell.lstrip()[:1] not in "=+-@＝＋－＠\t\r\n\0" for cell in row if cell)
    assert "\u202e" not in row[1]
    assert "\x00" not in row[1]


@pytest.mark.parametrize("name", HOSTILE[:5])
def test_hostile_text_is_inert_in_a_workbook(name):
    """openpyxl, which is not ours, finds text, no formula and no link."""
    _, row = rows_of_xlsx(marks_xlsx(class_of(student("s01", name))))
    assert row[1].data_type == "s"
    assert row[1].hyperlink is None
    assert row[1].value.lstrip()[:1] not in "=+-@＝＋－＠"


def test_workbook_holds_the_same_table_with_numbers():
    """Marks are numbers that a spreadsheet adds up; a missing one is no zero."""
    head, first, second = rows_of_xlsx(marks_xlsx(CLASS))
    assert [cell.value for cell in head][2:5] == ["exercise 1", "total", "out of"]
    assert [cell.value for cell in first[2:5]] == [7.5, 7.5, 10]
    assert {cell.data_type for cell in first[2:5]} == {"n"}
    assert [cell.value for cell in second[2:]] == [None, None, None, "none"]


def test_workbook_has_the_decimals_of_the_csv():
    """Who adds up by hand what both show comes to the same."""
    marked = class_of(student("s01", "A", graded(step(mark=22 / 3))))
    _, row = rows_of_xlsx(marks_xlsx(marked))
    assert row[2].value == 7.33
    assert ",7.33," in marks_csv(marked)


def test_same_marks_give_the_same_workbook():
    """No clock and no chance gets into the file."""
    exercises = graded(), graded(exercise=2)
    marked = class_of(student("s01", "A", *exercises))
    assert marks_xlsx(marked) == marks_xlsx(marked)
