"""One column of a table that is not ours is filled; no other byte changes."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from answer_keys.errors import ExportError
from answer_keys.interchange.column import filled_column

HEAD = "Name,Student ID,Week 3,Comment\n"


def fill(text, marks=None, encoding="utf-8"):
    """Fill the column Week 3 of a table."""
    data = text if isinstance(text, bytes) else text.encode(encoding)
    given_marks = {"s01": "87.50", "s02": "9.00"} if marks is None else marks
    return filled_column(data, given_marks, id_column="Student ID", column="Week 3")


def test_marks_go_to_their_ids_and_nothing_else_moves():
    """Golden: blank rows, quotes, spaces, other rows and a last line without end."""
    before = (
        "Name,Student ID,Week 3,Comment\r\n"
        '"Aldeen, Mira", s01 ,,"said ""yes""\r\ntwice"\r\n'
        "\r\n"
        'Jonas,"S02","old", x\n'
        "Points possible,,100,\r\n"
        "Ilse,s03,5,=1+1"
    )
    after = before.replace(" s01 ,,", " s01 ,87.50,").replace('"old"', '"9.00"')
    filled = fill(before)
    assert filled.data.decode() == after
    assert filled.unknown == ("s03",)
    assert filled.missing == ()


def test_marks_that_find_no_row_are_told():
    """A mark is never put beside another student."""
    filled = fill(HEAD + "s01,s02,,\n")
    assert filled.data.decode() == HEAD + "s01,s02,9.00,\n"
    assert filled.missing == ("s01",)


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252", "latin-1"]
)
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_encoding_and_delimiter_stay(encoding, delimiter):
    """As other systems export: with and without a mark, and from older machines."""
    text = (HEAD + "Zoë Müller,s01,,ok\n").replace(",", delimiter)
    filled = fill(text, encoding=encoding)
    expected = text.replace(f"s01{delimiter}", f"s01{delimiter}87.50")
    assert filled.data == expected.encode(encoding)


def test_decimal_comma_is_quoted_where_commas_part_cells():
    """A mark stays one cell."""
    filled = fill(HEAD + "a,s01,,\n", {"s01": "87,50"})
    assert filled.data.decode() == HEAD + 'a,s01,"87,50",\n'
    again = fill(filled.data, {"s01": "87,50"})
    assert again.data == filled.data


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("Name,Week 3\n", r"line 1: no column 'Student ID'. .* 'Name', 'Week 3'"),
        ("Name;Student ID\n", r"line 1: no column 'Week 3'. .* 'Name', 'Student ID'"),
        ("", "line 1: no column 'Student ID' and 'Week 3'"),
        (HEAD.strip() + ",Week 3\n", "line 1: 2 columns are called 'Week 3'"),
        (HEAD + 'a,s01,,\n"b\nc",S01,,\n', "lines 2, 3 have one id, 's01'. Leave"),
        (HEAD + '"a\nb",s09,,\nc,s01\n', "line 4: the row of 's01' has 2 cells"),
    ],
)
def test_table_that_cannot_be_filled_is_told(text, problem):
    """What, where, and what to do."""
    with pytest.raises(ExportError, match=problem):
        fill(text)


SIGNS = st.text(st.sampled_from("ab ,;\t|\"'\r\n=é☃\u202e"), max_size=6)


@st.composite
def tables(draw):
    """A table of another system: its bytes, and the pieces that they are made of.

    The piece with the mark of a student has the student's id beside it.
    """
    delimiter = draw(st.sampled_from(",;\t|"))
    encoding = draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]))
    ids = draw(st.lists(st.sampled_from(["s01", "s02", "s03", "x9"]), unique=True))
    ends = st.sampled_from(["\r\n", "\n", "\r", "\n\n"])
    pieces = [(HEAD.strip().replace(",", delimiter), None), (draw(ends), None)]
    for id_ in ids:
        name, old, comment = (_as_cell(draw(SIGNS), draw(st.booleans())) for _ in "abc")
        shown = draw(st.sampled_from([id_, f'"{id_}"', f" {id_} "]))
        pieces += [(f"{name}{delimiter}{shown}{delimiter}", None), (old, id_)]
        pieces += [(f"{delimiter}{comment}{draw(ends)}", None)]
    text = "".join(piece for piece, _ in pieces)
    return text.encode(encoding), pieces, encoding, delimiter


def _as_cell(text, is_quoted):
    """Write a cell as RFC 4180 has it, in quotes also where none are needed."""
    if is_quoted or any(sign in text for sign in ',;\t|"\r\n'):
        return '"' + text.replace('"', '""') + '"'
    return text


@given(tables(), st.sampled_from(["5.00", "5,00"]))
def test_all_bytes_outside_the_filled_cells_are_equal(table, mark):
    """For any table: only cells of marks differ, and filling again changes nothing.

    The reference is Python's csv module, which reads the filled table on its own.
    """
    data, pieces, encoding, delimiter = table
    marks = {"s01": mark, "s02": mark}
    filled = fill(data, marks)
    assert filled.data == "".join(
        _filled(piece, marks.get(id_), delimiter) for piece, id_ in pieces
    ).encode(encoding)
    text = filled.data.decode(encoding)
    read = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    rows = {row[1].strip(): row[2] for row in read if row}
    found = {id_: cell for id_, cell in rows.items() if id_ in marks}
    assert found == {id_: mark for _, id_ in pieces if id_ in marks}
    assert fill(filled.data, marks).data == filled.data


def _filled(piece, mark, delimiter):
    """What stands in the place of a piece of the table."""
    if mark is None:
        return piece
    is_quoted = piece.startswith('"') or delimiter in mark
    return f'"{mark}"' if is_quoted else mark
