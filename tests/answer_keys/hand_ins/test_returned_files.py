import io
import os
import stat
import zipfile
from pathlib import Path

import pytest

from answer_keys.hand_ins import listing, returned_files, zip_members
from answer_keys.hand_ins.zip_members import Budget, members_of
from tests.answer_keys.hand_ins.returned import hand_ins_in
from tests.answer_keys.samples import Writer, sample_key

GOOD, KEY = Writer().bytes(), sample_key()


def archive(*members, compression=zipfile.ZIP_DEFLATED):
    """A zip archive of (name or info, bytes) pairs."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", compression) as packed:
        for name, data in members:
            packed.writestr(name, data, compress_type=compression)
    return file.getvalue()


def found_in(folder):
    """What the reader found, by name: the student, or the refusal."""
    return {
        one.name: one.hand_in.student if one.hand_in else one.refusal
        for one in hand_ins_in(folder, KEY)
    }


def refusal_of(folder, data):
    """The refusal of the only file or member in an archive."""
    (folder / "a.zip").write_bytes(data)
    (refusal,) = found_in(folder).values()
    return refusal


def test_single_files_and_archives_are_found_by_name(tmp_path):
    """Files, files in folders, members and members of a nested archive all count."""
    (tmp_path / "one.jsonl").write_bytes(GOOD)
    (tmp_path / "bad.txt").write_text("hello")
    (tmp_path / "late").mkdir()
    (tmp_path / "late" / "two.jsonl").write_bytes(GOOD)
    nested = archive(("d/four.jsonl", GOOD))
    packed = archive(("three.jsonl", GOOD), ("folder/", b""), ("in.zip", nested))
    (tmp_path / "class.zip").write_bytes(packed)
    found = found_in(tmp_path)
    assert found.pop("bad.txt").startswith("This is not a hand-in file")
    assert found == dict.fromkeys(
        [
            "class.zip/in.zip/d/four.jsonl",
            "class.zip/three.jsonl",
            "late/two.jsonl",
            "one.jsonl",
        ],
        "s01",
    )


@pytest.mark.parametrize(
    ("name", "problem"),
    [
        ("../out.jsonl", "leads out"),
        ("a/../../out.jsonl", "leads out"),
        ("/etc/x", "absolute"),
        ("C:/x", "absolute"),
        ("a\\b", "backslash"),
    ],
)
def test_names_that_lead_elsewhere_are_refused(tmp_path, name, problem):
    """No member is read by a name that could leave a folder."""
    assert problem in refusal_of(tmp_path, archive((name, GOOD)))


@pytest.mark.parametrize("name", [b"a\0.jsonl", b"\0b.jsonl"])
def test_zero_byte_in_a_name_is_refused(tmp_path, name):
    """A name cut at a zero byte by others is refused here; to nothing, by fuzzing."""
    data = archive(("ab.jsonl", GOOD)).replace(b"ab.jsonl", name)
    assert "zero byte" in refusal_of(tmp_path, data)


def test_link_in_an_archive_is_refused(tmp_path):
    """A member that is a link is not followed."""
    info = zipfile.ZipInfo("link.jsonl")
    info.external_attr = (stat.S_IFLNK | 0o777) << 16
    assert refusal_of(tmp_path, archive((info, "/etc/passwd"))) == (
        "The member is a link."
    )


def test_encrypted_member_is_refused(tmp_path):
    """A member with the encryption flag is refused."""
    data = bytearray(archive(("a.jsonl", GOOD)))
    data[data.index(b"PK\x01\x02") + 8] |= 1
    assert refusal_of(tmp_path, bytes(data)) == "The member is encrypted."


def test_unusual_compression_is_refused(tmp_path):
    """Only stored and deflated members are read."""
    data = archive(("a.jsonl", GOOD), compression=zipfile.ZIP_BZIP2)
    assert "unusual" in refusal_of(tmp_path, data)


def test_second_member_of_a_name_is_refused(tmp_path):
    """Two members of one name cannot both count."""
    data = archive(("a.jsonl", GOOD), ("b.jsonl", GOOD)).replace(b"b.jsonl", b"a.jsonl")
    (tmp_path / "a.zip").write_bytes(data)
    first, second = hand_ins_in(tmp_path, KEY)
    assert first.hand_in
    assert "same name" in second.refusal


def test_bomb_is_refused_by_what_it_unpacks_to(tmp_path):
    """A member that grows past the limit is not unpacked to its end."""
    assert "larger than 2,000,000" in refusal_of(
        tmp_path, archive(("a.jsonl", b"0" * 50_000_000))
    )


def test_member_packed_too_tightly_is_refused(tmp_path):
    """A small bomb is known by its ratio."""
    data = archive(("a.jsonl", b"0" * 1_000_000))
    assert "over 100 to 1" in refusal_of(tmp_path, data)


def test_nested_archives_share_one_budget(monkeypatch):
    """Archives in an archive cannot multiply what is unpacked."""
    monkeypatch.setattr(zip_members, "MAX_ZIP_TOTAL_BYTES", 100)
    budget = Budget(left=100)
    members = list(members_of(archive(("a", b"x" * 80), ("b", b"y" * 80)), budget))
    assert [member.refusal for member in members] == [
        None,
        "The archive holds more than 100 bytes.",
    ]
    assert budget.left == 20


def test_too_many_members_are_refused(tmp_path):
    """An archive of more members than a class has is refused as a whole."""
    data = archive(*((f"{n}.jsonl", b"") for n in range(501)))
    assert "more than 500 members" in refusal_of(tmp_path, data)
    flood = b"PK\x05\x06" + b"PK\x01\x02" * 5001
    assert "more than 500 members" in refusal_of(tmp_path, flood)


def test_third_level_of_archives_is_refused(tmp_path):
    """Archives are opened one level deep."""
    inner = archive(("c.zip", archive(("a.jsonl", GOOD))))
    assert "three deep" in refusal_of(tmp_path, archive(("b.zip", inner)))


def test_damaged_and_empty_archives_are_refused(tmp_path):
    """Damage is told for the archive or for the member it hits."""
    data = archive(("a.jsonl", GOOD), compression=zipfile.ZIP_STORED)
    assert refusal_of(tmp_path, data[:-30]) == "The archive is damaged."
    assert refusal_of(tmp_path, archive()) == "The archive is empty."
    changed = data.replace(b"k7m2q", b"xxxxx")
    assert refusal_of(tmp_path, changed) == "The member is damaged."


def test_archive_or_file_over_the_limit_is_not_read(tmp_path, monkeypatch):
    """The size is looked at before the file is opened."""
    monkeypatch.setattr(returned_files, "MAX_ZIP_BYTES", 10)
    assert "larger than 10 bytes" in refusal_of(tmp_path, archive(("a", GOOD)))
    monkeypatch.setattr(zip_members, "MAX_ZIP_BYTES", 10)
    monkeypatch.setattr(returned_files, "MAX_ZIP_BYTES", 10_000)
    assert "larger than 10 bytes" in refusal_of(tmp_path, archive(("a", GOOD)))


def test_links_and_pipes_in_the_folder_are_refused(tmp_path):
    """Nothing but regular files is opened."""
    (tmp_path / "link.jsonl").symlink_to("/etc/passwd")
    (tmp_path / "folder").symlink_to("/etc")
    os.mkfifo(tmp_path / "pipe")
    found = found_in(tmp_path)
    assert found["link.jsonl"] == found["folder"] == "This is a link, not a file."
    assert "not a regular file" in found["pipe"]


def test_unreadable_file_does_not_stop_the_others(tmp_path, monkeypatch):
    """A file that the system refuses is accounted for."""
    (tmp_path / "a.jsonl").write_bytes(GOOD)
    (tmp_path / "b.jsonl").write_bytes(GOOD)
    read = returned_files._data_at

    def refuse(path):
        if path.name == "a.jsonl":
            raise PermissionError(13, "Permission denied")
        return read(path)

    monkeypatch.setattr(returned_files, "_data_at", refuse)
    assert found_in(tmp_path) == {
        "a.jsonl": "The file cannot be read: Permission denied.",
        "b.jsonl": "s01",
    }


def test_fault_of_the_reader_does_not_stop_the_others(tmp_path, monkeypatch):
    """Even a bug costs one file only, and shows."""
    (tmp_path / "a.jsonl").write_bytes(GOOD)
    (tmp_path / "b.jsonl").write_bytes(GOOD)
    read = returned_files.read_hand_in

    def fail(name, data):
        return read(name, data) if name == "b.jsonl" else {}[name]

    monkeypatch.setattr(returned_files, "read_hand_in", fail)
    found = found_in(tmp_path)
    assert found["a.jsonl"].startswith("The reader failed on this file (KeyError)")
    assert found["b.jsonl"] == "s01"


def test_number_of_files_is_limited(tmp_path, monkeypatch):
    """Beyond the limit the reader says what it has left, and how much that is."""
    monkeypatch.setattr(listing, "MAX_FILES", 1)
    monkeypatch.setattr(returned_files, "MAX_FILES", 1)
    for name in "abcd":
        (tmp_path / name).write_bytes(GOOD)
    first, rest = hand_ins_in(tmp_path, KEY)
    assert first.hand_in
    assert rest.name == "b"
    assert rest.is_unread
    assert rest.refusal.startswith("This and 2 more files were not read: only 1")


def test_what_looks_like_a_hand_in_is_read_first(tmp_path, monkeypatch):
    """Files of nothing, or of a crowd in a folder of its own, starve nobody."""
    monkeypatch.setattr(listing, "MAX_FILES", 6)
    for number in range(20):
        (tmp_path / f"{number:02}").touch()
    crowd = tmp_path / "a crowd"
    crowd.mkdir()
    for number in range(20):
        (crowd / f"{number:02}.jsonl").write_bytes(GOOD)
    os.mkfifo(tmp_path / "00 pipe")
    (tmp_path / "x.jsonl").write_bytes(GOOD)
    (tmp_path / "y.zip").write_bytes(archive(("z.jsonl", GOOD)))
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "z.jsonl").write_bytes(GOOD)
    *read, rest = hand_ins_in(tmp_path, KEY)
    assert {one.name for one in read} == {
        "a crowd/00.jsonl",
        "a crowd/01.jsonl",
        "a crowd/02.jsonl",
        "own/z.jsonl",
        "x.jsonl",
        "y.zip/z.jsonl",
    }
    assert "37 more" in rest.refusal


def test_files_beyond_all_listing_are_counted(tmp_path, monkeypatch):
    """Nobody holds the names of millions; how many there are is told."""
    monkeypatch.setattr(listing, "MAX_FILES", 3)
    monkeypatch.setattr(listing, "MAX_LISTED_FILES", 5)
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        for number in range(4):
            (tmp_path / folder / f"{number}").write_bytes(b"")
    *read, rest = hand_ins_in(tmp_path, KEY)
    assert len(read) == 3
    assert "This and 4 more files" in rest.refusal


def test_folder_that_cannot_be_opened_costs_itself_alone(tmp_path, monkeypatch):
    """Whatever the reason: it is named, and the files beside it are read."""
    (tmp_path / "closed" / "in").mkdir(parents=True)
    (tmp_path / "open").mkdir()
    (tmp_path / "open" / "a.jsonl").write_bytes(GOOD)
    scan = os.scandir

    def refuse(path):
        if Path(path).name == "in":
            raise PermissionError(13, "Permission denied")
        return scan(path)

    monkeypatch.setattr(listing.os, "scandir", refuse)
    found = found_in(tmp_path)
    assert found.pop("open/a.jsonl") == "s01"
    assert list(found) == ["closed/in/"]
    assert "cannot be opened (Permission denied)" in found["closed/in/"]


@pytest.mark.parametrize(
    ("seconds", "year"), [(-(10**11), 1), (10**12, 9999), (0, 1970)]
)
def test_time_outside_all_years_is_the_nearest(seconds, year):
    """File systems have years that a calendar has not."""
    assert returned_files._time_of(float(seconds)).year == year


def test_hidden_signs_in_file_names_are_written_out(tmp_path):
    """A name cannot pose as another."""
    (tmp_path / "a\u202elnosj.jsonl").write_bytes(GOOD)
    assert list(found_in(tmp_path)) == ["a\\u202elnosj.jsonl"]
