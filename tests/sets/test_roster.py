"""Class lists as spreadsheets write them, and every fault of one at once."""

import zipfile

import pytest
from openpyxl import Workbook

from generator.drawing.request import Student
from generator.errors import RosterError
from generator.sets.roster import Columns, invented_roster, read_roster

ADA, BRUNO = Student(id="s01", name="Ada Almer"), Student(id="s02", name="Bruno Dorn")


@pytest.fixture
def write(tmp_path):
    """Write a class list and give its path."""

    def written(content):
        path = tmp_path / "roster.csv"
        raw = content if isinstance(content, bytes) else content.encode()
        path.write_bytes(raw)
        return path

    return written


def problems_of(path):
    """What is wrong with a class list."""
    with pytest.raises(RosterError) as caught:
        read_roster(path)
    assert {problem.path for problem in caught.value.problems} == {path}
    return [str(one).removeprefix(f"{path}, ") for one in caught.value.problems]


@pytest.mark.parametrize(
    "text",
    [
        "id,name\ns01,Ada Almer\ns02,Bruno Dorn\n",
        "name;id\nAda Almer;s01\nBruno Dorn;s02",
        "ID\tName\tyear\ns01\tAda Almer\t2\ns02\tBruno Dorn\t3\n",
        'id,name\r\ns01,"Ada Almer"\r\n\r\n s02 , Bruno Dorn \r\n,\r\n',
        "\ufeffid,name\ns01,Ada Almer\ns02,Bruno Dorn\n",
    ],
    ids=["commas", "semicolons", "tabs", "quotes and blanks", "byte order mark"],
)
def test_roster_is_read_as_spreadsheets_write_it(write, text):
    """Separators, order of columns, blank lines and marks make no difference."""
    assert read_roster(write(text)) == (ADA, BRUNO)


def test_name_may_be_missing_or_long(write):
    """Without a name the id stands in; a name may hold anything."""
    read = read_roster(write('id,name\ns01,\ns02,"Ñandú, ""N."" de la Ω"\n'))
    assert [student.name for student in read] == ["s01", 'Ñandú, "N." de la Ω']


@pytest.mark.parametrize(
    "student_id", ["a", "7", "a.b@c.org", "A_b-c+d", "x" * 40, "console", "com10"]
)
def test_usual_ids_are_allowed(write, student_id):
    """Numbers, mail addresses and names of one word."""
    assert read_roster(write(f"id,name\n{student_id},N\n"))[0].id == student_id


@pytest.mark.parametrize(
    "student_id",
    [
        "-a",
        ".a",
        "a.",
        "a b",
        "ä",
        "a/b",
        "..",
        "a\\b",
        "a:b",
        "x" * 41,
        "=1+1",
        "a\u202eb",
        "a\x00b",
        "٣",
    ],
)
def test_id_that_is_no_file_name_is_refused(write, student_id):
    """Ids stand in names of files and folders on every system."""
    [problem] = problems_of(write(f"id,name\n{student_id},N\n"))
    assert problem.startswith(f"line 2: {student_id!r} cannot be an id")
    assert "Write 1 to 40 of the letters a to z" in problem


@pytest.mark.parametrize("student_id", ["con", "NUL", "com1", "Lpt9.txt", "aux.b"])
def test_id_that_names_a_device_is_refused(write, student_id):
    """Some systems keep these names, with any ending."""
    [problem] = problems_of(write(f"id,name\n{student_id},N\n"))
    assert "keep it for a device" in problem


@pytest.mark.parametrize("again", ["s01", "S01"])
def test_id_twice_is_refused(write, again):
    """Two students never share a folder, on no system."""
    [problem] = problems_of(write(f"id,name\ns01,A\n{again},B\n"))
    assert problem.startswith("line 3")
    assert "twice" in problem


def test_every_fault_is_told_with_its_line(write):
    """Nothing hides behind the first fault."""
    path = write("id,name\na b,A\ns01,B\ncon,C\ns01,D\n")
    assert [p.partition(":")[0] for p in problems_of(path)] == [
        "line 2",
        "line 4",
        "line 5",
    ]
    with pytest.raises(
        RosterError, match=r"(?s)roster.csv, line 2.*roster.csv, line 5"
    ):
        read_roster(path)


@pytest.mark.parametrize(
    ("text", "missing"),
    [("", "id and name"), ("ids,name\n", "id"), ("id;town\n", "name"), ("\n", "id")],
)
def test_missing_column_is_told(write, text, missing):
    """What a first line must hold is said."""
    [problem] = problems_of(write(text))
    assert problem.startswith(f"line 1: no column called {missing}")


@pytest.mark.parametrize("text", ["id,name\n", "id,name\n,\n  ,  \n"])
def test_roster_without_students_is_refused(write, text):
    """An empty class needs no class set."""
    [problem] = problems_of(write(text))
    assert problem.startswith("line 2: there is no student. Write one line or more")


@pytest.mark.parametrize("encoding", ["cp1252", "utf-16", "utf-8"])
def test_any_common_encoding_is_read(encoding, write):
    """Spreadsheets save what their system is used to."""
    path = write("Nr;Schüler-ID;Nachname;Vorname\n1;7a;Öztürk;Jürg\n".encode(encoding))
    assert read_roster(path) == (Student(id="7a", name="Jürg Öztürk"),)


@pytest.mark.parametrize(
    ("head", "told"),
    [
        ("Matrikelnummer;Nachname;Vorname;Benutzername", "7;Almer;Ada;aalmer"),
        ("Student ID,Last Name,First Name,Email", "7,Almer,Ada,aalmer"),
        ("Name\tVorname\tKennung\tLogin", "Almer\tAda\t7\taalmer"),
        ("sis_id|Full name|User name", "7|Ada Almer|aalmer"),
    ],
)
def test_names_of_schools_for_their_columns_are_known(head, told, write):
    """Whole names are put together, and a title above the columns is passed over."""
    path = write(f"Klasse 10b vom 1. September\n\n{head}\n{told}\n")
    assert read_roster(path) == (Student(id="7", name="Ada Almer", login="aalmer"),)


def test_login_is_the_id_where_there_is_no_other(write):
    """A school that has only accounts has ids all the same."""
    path = write("Username,Display name\nada@school,Ada Almer\n")
    assert read_roster(path)[0].id == "ada@school"


def test_columns_can_be_told(write):
    """Where no name tells, the instructor does."""
    path = write("a,b\nAda Almer,s01\n")
    assert read_roster(path, Columns(id=1, name=0)) == (ADA,)


def test_login_of_two_students_is_refused(write):
    """Each would open the work of the other."""
    [problem] = problems_of(write("id,name,login\n1,A,x\n2,B,X\n"))
    assert "login 'x' stands here 2 times" in problem
    # Who has no login goes by the id.
    [problem] = problems_of(write("id,name,login\ns1,A,S2\ns2,B,\n"))
    assert "is the id of a student without one" in problem


@pytest.fixture
def sheet(tmp_path):
    """Write a spreadsheet's own file of some rows."""

    def written(*rows):
        book = Workbook()
        for row in rows:
            book.active.append(row)
        book.save(tmp_path / "roster.xlsx")
        return tmp_path / "roster.xlsx"

    return written


def test_spreadsheet_is_read_as_it_is_saved(sheet):
    """Numbers of students are no decimals, and a title is passed over."""
    path = sheet(["Class 10b"], [], ["ID", "Name"], [1001, "Ada Almer"], [], [1002.0])
    assert [(one.id, one.name) for one in read_roster(path)] == [
        ("1001", "Ada Almer"),
        ("1002", "1002"),
    ]


def test_faults_of_a_spreadsheet_are_told_by_its_rows(sheet):
    """They are counted as the spreadsheet counts them."""
    path = sheet(["id", "name"], ["a/b", "A"], [], ["c d", "C"])
    with pytest.raises(RosterError) as caught:
        read_roster(path)
    assert [one.line for one in caught.value.problems] == [2, 4]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"\xd0\xcf\x11\xe0" + b"x" * 600, "Save it as XLSX or CSV"),
        (b"%PDF-1.7 x", "Save it as XLSX or CSV"),
        (b"\x89PNG\r\n\0\0\xff", "is no text. Save the table as CSV"),
    ],
    ids=["older", "pdf", "picture"],
)
def test_what_is_no_table_is_answered_with_what_to_save(data, said, write):
    """The usual wrong files have words of their own."""
    [problem] = problems_of(write(data))
    assert said in problem


def test_damaged_spreadsheet_is_told(sheet):
    """Whatever the library makes of it, it is one sentence."""
    path = sheet(["id", "name"])
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in parts.items():
            archive.writestr(name, b"<x" if name.endswith("sheet1.xml") else data)
    with pytest.raises(RosterError, match="cannot be read as a spreadsheet"):
        read_roster(path)


def test_quotation_mark_left_open_is_told(write):
    """It would hide every student after it."""
    [problem] = problems_of(write('id,name\ns01,"Ada\ns02,Bruno\n'))
    assert problem.startswith("line 2: cannot be split into columns")


def test_missing_file_is_told(tmp_path):
    """A wrong path is a fault like another."""
    [problem] = problems_of(tmp_path / "none.csv")
    assert "cannot be read" in problem


@pytest.mark.parametrize(("count", "last"), [(1, "s01"), (12, "s12"), (120, "s120")])
def test_invented_class_has_ids_and_names_of_its_own(count, last):
    """No two share an id, all ids are as long, and each has two names."""
    students = invented_roster(count)
    ids = [student.id for student in students]
    assert ids[-1] == last
    assert len(set(ids)) == count
    assert len({len(one) for one in ids}) == 1
    assert all(len(student.name.split()) == 2 for student in students)
