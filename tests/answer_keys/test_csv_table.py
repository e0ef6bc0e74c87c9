"""Tables as people save them: one reader for class lists, marks and typed answers."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from answer_keys.csv_table import CsvError, csv_table


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_table_is_read_with_the_lines_that_rows_begin_on(separator):
    """Blank rows are left out; a quoted cell may hold separators and line ends."""
    text = 'id,name\r\n\r\n s1 ,"Ada, \nN."\r\n,\r\ns2,Bruno\r\n'
    data = text.replace(",", separator).encode()
    table = csv_table(b"\xef\xbb\xbf" + data)
    assert (table.columns, table.separator) == (("id", "name"), separator)
    assert [row.line for row in table.rows] == [3, 6]
    assert table.rows[1].cells == ("s2", "Bruno")
    assert "\n" in table.rows[0].cells[1]


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252", "latin-1"])
def test_table_is_read_in_any_common_encoding(encoding):
    """What a spreadsheet writes by itself is not always UTF-8."""
    table = csv_table("id;name\ns1;Jürgen Öß\n".encode(encoding))
    assert table.rows[0].cells == ("s1", "Jürgen Öß")


@pytest.mark.parametrize("data", [b"", b"\n", b"\na,b\n"])
def test_table_without_a_first_line_has_no_columns(data):
    """Whoever asks for columns says that they are missing."""
    assert csv_table(data).columns == ()


@pytest.mark.parametrize(
    ("data", "line", "said"),
    [
        (b"a,b\n1,\0\xff\n", 2, "is no text"),
        (b'a,b\n1,2\n3,"4\n', 3, "Close every quotation mark"),
    ],
)
def test_file_that_is_no_table_is_told_with_its_line(data, line, said):
    """And with what to do."""
    with pytest.raises(CsvError, match=said) as caught:
        csv_table(data)
    assert caught.value.line == line


@given(st.binary(max_size=200))
def test_any_bytes_are_a_table_or_refused(data):
    """Nothing else is ever raised."""
    with suppress(CsvError):
        table = csv_table(data)
        assert all(row.line >= 1 and any(row.cells) for row in table.rows)
