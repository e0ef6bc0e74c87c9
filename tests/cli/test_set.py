"""A class set that is not one, or is damaged, is refused in words and left alone."""

import shutil

import pytest

from tests.cli.command import error_of, files_below

READERS = ("grade", "show", "validate", "simulate")
TOML, ROSTER = "set.toml", "for-instructor/roster.csv"
KEY, SECRET = "for-instructor/answer-key.sealed", "for-instructor/class-secret.txt"


def refused(own, *arguments):
    """Run a command on a set that must be refused and stay as it is."""
    before = files_below(own)
    error = error_of(*arguments)
    assert files_below(own) == before
    return error


@pytest.mark.parametrize("command", READERS)
@pytest.mark.parametrize("kind", ["missing", "empty", "file"])
def test_place_that_is_no_set_is_named(command, kind, tmp_path):
    """A folder without set.toml, a file and a name that is not there are no sets."""
    place = tmp_path / "place"
    if kind == "file":
        place.write_text("x", encoding="utf-8")
    elif kind == "empty":
        place.mkdir()
    error = error_of(command, place)
    assert error.startswith(str(place))
    assert ("set.toml" if kind == "empty" else "no such folder") in error


@pytest.mark.parametrize("command", READERS)
@pytest.mark.parametrize(
    "damage",
    [
        lambda data: data.replace(b"[set]", b"[set"),
        lambda data: data.replace(b"[set]", b"[other]"),
        lambda data: data.replace(b"exercises = 2", b'exercises = "many"'),
        lambda data: data.replace(b"lessons = [", b"lessons = 3 # ["),
        lambda data: data.replace(b"set_id", b"name"),
        lambda _: b"\xff\xfe",
    ],
)
def test_damaged_settings_are_refused(own, command, damage):
    """Settings that were spoiled are named, whichever command reads them."""
    path = own / TOML
    path.write_bytes(damage(path.read_bytes()))
    assert "set.toml" in refused(own, command, own)


@pytest.mark.parametrize("command", READERS)
def test_key_of_another_set_is_refused(own, practice_set, command):
    """The key of another set opens nothing here; both sets are named."""
    shutil.copy(practice_set / KEY, own / KEY)
    error = refused(own, command, own)
    assert "This is the answer key of set" in error


@pytest.mark.parametrize("command", READERS)
def test_secret_of_another_set_is_refused(own, practice_set, command):
    """Another secret is told from damage."""
    shutil.copy(practice_set / SECRET, own / SECRET)
    assert "it was sealed with another one" in refused(own, command, own)


def changed_byte(data):
    """The same bytes with one letter of the sealed part changed."""
    place = data.index(b'"sealed":') + 100
    other = b"A" if data[place : place + 1] != b"A" else b"B"
    return data[:place] + other + data[place + 1 :]


@pytest.mark.parametrize(
    ("damage", "said"),
    [
        (changed_byte, "was changed after it was sealed"),
        (lambda data: data[: len(data) // 2], "not JSON"),
        (lambda _: b"", "not JSON"),
        (lambda _: b"\xff", "not JSON"),
        (lambda _: b"[]", "not a sealed answer key"),
    ],
)
def test_damaged_key_is_refused(own, damage, said):
    """No part of a damaged key is ever used."""
    (own / KEY).write_bytes(damage((own / KEY).read_bytes()))
    assert said in refused(own, "show", own)


@pytest.mark.parametrize(
    ("data", "said"), [(b"{}", "this is not a class secret"), (b"\xff", "not JSON")]
)
def test_damaged_secret_is_refused(own, data, said):
    """A class secret that cannot be read is named with its file."""
    (own / SECRET).write_bytes(data)
    error = refused(own, "show", own)
    assert said in error
    assert str(own / SECRET) in error


@pytest.mark.parametrize(
    ("name", "said"),
    [
        (KEY, "There is no answer key at"),
        (SECRET, "there is no class secret here"),
        (ROSTER, "roster.csv"),
    ],
)
def test_missing_part_is_named(own, name, said):
    """A part that was lost is named."""
    (own / name).unlink()
    assert said in refused(own, "grade", own)


def test_folder_in_place_of_a_file_is_named(own):
    """What cannot be read for other reasons is one line, too."""
    (own / KEY).unlink()
    (own / KEY).mkdir()
    assert f"{own / KEY}: cannot be read or written" in refused(own, "grade", own)
