"""Class lists out of OneRoster bundles, and every fault of one told with its place."""

from __future__ import annotations

import zipfile

import pytest

from generator.drawing.request import Student
from generator.errors import RosterError
from generator.sets import oneroster_roster as oneroster
from generator.sets.oneroster_roster import is_oneroster, read_oneroster

GUIDS = (
    "0b8e8a7e-5b0c-4d0f-9f5a-2f6a8f1f0001",
    "0b8e8a7e-5b0c-4d0f-9f5a-2f6a8f1f0002",
)
# Columns as in the file one-roster-csv-rostering-schema.ts of LongsightGroup's open
# implementation of the binding, which was read and not run.
USERS = (
    "sourcedId,status,dateLastModified,enabledUser,username,userIds,givenName,"
    "familyName,middleName,identifier,email,sms,phone,agentSourcedIds,grades,password,"
    "userMasterIdentifier,preferredGivenName,preferredMiddleName,preferredFamilyName,"
    "primaryOrgSourcedId,pronouns\r\n"
    f"{GUIDS[0]},,,true,mira,,Miranda,Aldeen,,,,,,,,,,Mira,,,,\r\n"
    f'{GUIDS[1]},,,true,jonas,,Jonas,"Ferrant, jr.",,,,,,,,,,,,,,\r\n'
    "teacher-1,,,true,ilse,,Ilse,Okafor,,,,,,,,,,,,,,\r\n"
)
CLASSES = (
    "sourcedId,status,dateLastModified,title,grades,courseSourcedId,classCode,"
    "classType,location,schoolSourcedId,termSourcedIds,subjects,subjectCodes,periods\r\n"
    'class-a,,,Relays,,course-1,,scheduled,,school-1,"term-1,term-2",,,\r\n'
    "class-b,,,Brakes,,course-2,,scheduled,,school-1,term-1,,,\r\n"
)
ENROLLMENTS = (
    "sourcedId,status,dateLastModified,classSourcedId,schoolSourcedId,userSourcedId,"
    "role,primary,beginDate,endDate\r\n"
    "e1,,,class-a,school-1,teacher-1,teacher,true,,\r\n"
    f"e2,,,class-a,school-1,{GUIDS[1]},student,,,\r\n"
    f"e3,,,class-a,school-1,{GUIDS[0]},student,,,\r\n"
    f"e4,,,class-a,school-1,{GUIDS[0]},student,,,\r\n"
    f"e5,,,class-b,school-1,{GUIDS[0]},student,,,\r\n"
)
MANIFEST = (
    "propertyName,value\r\nmanifest.version,1.0\r\noneroster.version,1.2\r\n"
    "file.users,bulk\r\nfile.classes,bulk\r\nfile.enrollments,bulk\r\n"
    "file.results,absent\r\nsource.systemName,Sample\r\nsource.systemCode,s\r\n"
)
BUNDLE = {
    "manifest": MANIFEST,
    "users": USERS,
    "classes": CLASSES,
    "enrollments": ENROLLMENTS,
}


def write_bundle(folder, **changed):
    """Write a bundle into a folder; files set to None are left out."""
    folder.mkdir()
    for name, text in (BUNDLE | changed).items():
        if text is not None:
            data = text if isinstance(text, bytes) else text.encode()
            (folder / f"{name}.csv").write_bytes(data)
    return folder


@pytest.fixture
def bundle(tmp_path):
    """Write a bundle and give its folder."""
    return lambda **changed: write_bundle(tmp_path / "bundle", **changed)


def problems_of(path, class_id="class-a"):
    """What is wrong with a bundle."""
    with pytest.raises(RosterError) as caught:
        read_oneroster(path, class_id)
    return [str(one).removeprefix(f"{path}/") for one in caught.value.problems]


def test_class_is_read_with_what_results_need_later(bundle):
    """Students in their order, by their ids; teachers and other classes stay out."""
    students, its = read_oneroster(bundle(), "class-a")
    assert students == (
        Student(id=GUIDS[1], name="Jonas Ferrant, jr."),
        Student(id=GUIDS[0], name="Mira Aldeen"),
    )
    assert (its.id, its.school, its.session) == ("class-a", "school-1", "term-1")


def test_zip_is_read_as_the_folder_is(bundle, tmp_path):
    """The binding's own form."""
    folder, archive = bundle(), tmp_path / "bundle.zip"
    with zipfile.ZipFile(archive, "w") as file:
        for path in folder.iterdir():
            file.write(path, path.name)
    assert is_oneroster(archive)
    assert is_oneroster(folder)
    assert not is_oneroster(folder / "users.csv")
    assert read_oneroster(archive, "class-b") == read_oneroster(folder, "class-b")


def test_only_class_needs_no_choice_and_several_are_listed(bundle, tmp_path):
    """One error says what there is."""
    one = CLASSES.replace("class-b,,,", "class-b,tobedeleted,2026-01-01T00:00:00Z,")
    assert (
        read_oneroster(write_bundle(tmp_path / "one", classes=one))[1].id == "class-a"
    )
    folder = bundle()
    for class_id in (None, "class-c"):
        (problem,) = problems_of(folder, class_id)
        assert "--class one of: class-a (Relays); class-b (Brakes)" in problem


@pytest.mark.parametrize(
    ("changed", "problem"),
    [
        ({"users": None}, "users.csv: is missing. Export all"),
        ({"manifest": None}, "manifest.csv: is missing"),
        (
            {"manifest": MANIFEST.replace("version,1.2", "version,1.1")},
            "manifest.csv: oneroster.version is '1.1'. Export a bundle with 1.2 or",
        ),
        (
            {"manifest": MANIFEST.replace("users,bulk", "users,delta")},
            "manifest.csv: file.users is 'delta'. Export a bundle with bulk.",
        ),
        (
            {"users": USERS.replace("givenName", "given", 1)},
            "users.csv, line 1: no column called givenName",
        ),
        (
            {"users": USERS + "x,,\r\n"},
            "users.csv, line 5: has 3 cells. Write 22, as line 1 has.",
        ),
        ({"users": b"\xff\0"}, "users.csv, line 1: is no text"),
        ({"users": USERS + '"x\r\n'}, "users.csv, line 5: cannot be split"),
        (
            {"enrollments": ENROLLMENTS.replace(GUIDS[1], "u9")},
            "enrollments.csv, line 3: user 'u9' is not in users.csv",
        ),
        (
            {"enrollments": ENROLLMENTS.replace("student", "proctor")},
            "enrollments.csv: no student in class 'class-a'",
        ),
    ],
)
def test_fault_is_told_with_its_place(bundle, changed, problem):
    """Which file, which line, and what to write."""
    assert problems_of(bundle(**changed))[0].startswith(problem)


@pytest.mark.parametrize("sign", ["\x00", "\x07", "\u202e", "\n", "\u2028"])
def test_control_characters_are_refused(bundle, sign):
    """They would go on to files, pages and other systems."""
    users = USERS.replace("Miranda", f'"Mir{sign}anda"')
    (problem,) = problems_of(bundle(users=users))
    assert problem.startswith("users.csv, line 2: ")
    assert "hidden characters" in problem


@pytest.mark.parametrize("name", ["=1+1", "+1", "@x", '""; --', "<b>&amp;"])
def test_other_hostile_names_are_names(bundle, name):
    """A name is data: it is kept as it is, and guarded where people read it."""
    users = USERS.replace("Miranda,Aldeen", f'Miranda,"{name}"').replace(",Mira,", ",,")
    students, _ = read_oneroster(bundle(users=users), "class-b")
    assert students[0].name == f"Miranda {name}".replace('""', '"')


def test_id_that_can_stand_in_no_file_name_is_told(bundle):
    """A student's id names files; the system's own id has to fit."""
    enrollments = ENROLLMENTS.replace(GUIDS[1], "../x")
    users = USERS.replace(GUIDS[1], "../x")
    (problem,) = problems_of(bundle(users=users, enrollments=enrollments))
    assert problem.startswith("enrollments.csv, line 3: '../x' cannot be an id")


def test_damaged_archive_is_told(tmp_path):
    """Half of an archive is none."""
    archive = tmp_path / "bundle.zip"
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as file:
        for name, text in BUNDLE.items():
            file.writestr(f"{name}.csv", text * 9)
    data = bytearray(archive.read_bytes())
    data[60:90] = bytes(30)
    archive.write_bytes(data)
    assert problems_of(archive)


def test_endless_file_is_told(bundle, monkeypatch):
    """No more is read than a school can have."""
    monkeypatch.setattr(oneroster, "_MAX_BYTES", 100)
    assert "manifest.csv: is larger than 100 bytes. Ex" in problems_of(bundle())[0]
