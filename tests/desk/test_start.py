"""The desk starts, is found by a second start, and ends without a trace."""

import stat
import time
from pathlib import PurePosixPath

import psutil
import pytest

from generator.desk import application
from generator.desk.desk import Desk
from generator.desk.places import (
    Running,
    forget_running,
    found_running,
    is_set_name,
    note_running,
)
from generator.desk.shortcut import shortcut_file
from tests.desk.running import SECONDS, Client, page_of, running_desk, start


@pytest.mark.nightly
def test_a_second_start_finds_the_first_and_quit_ends_it(tmp_path):
    """It shows the same page; its note is for its owner alone, and goes with it."""
    sets, home = tmp_path / "sets", tmp_path / "home"
    home.mkdir()
    with running_desk(sets, home) as (process, page):
        with start(sets, home) as second:
            assert page_of(second) == page
            assert second.wait(SECONDS) == 0
        (note,) = home.rglob("desk-*.json")
        assert stat.S_IMODE(note.stat().st_mode) == 0o600
        client = Client(page).open()
        used = psutil.Process(process.pid).cpu_times()
        assert used.user + used.system < 2, "the first page takes too long"
        assert client.api("POST", "end")[0] == 200
        assert process.wait(SECONDS) == 0
        assert not note.exists()


def test_a_note_of_a_desk_that_is_gone_is_no_desk(tmp_path, monkeypatch):
    """A machine that lost its power leaves one."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    gone = Running(address="http://127.0.0.1:9/", token="t")
    note_running(tmp_path, gone)
    assert found_running(tmp_path) is None
    forget_running(tmp_path, Running(address="http://127.0.0.1:8/", token="t"))
    assert list(tmp_path.rglob("desk-*.json"))
    forget_running(tmp_path, gone)
    assert not list(tmp_path.rglob("desk-*.json"))


@pytest.mark.parametrize(("idle_s", "is_ended"), [(60, False), (10_000, True)])
def test_an_unused_desk_ends_by_itself(idle_s, is_ended, tmp_path, monkeypatch):
    """Nobody has to know that it runs."""
    desk = Desk(sets=tmp_path, own=tmp_path)
    ended = []
    monkeypatch.setattr(desk, "end", lambda: ended.append(True))
    desk.used_at = time.monotonic() - idle_s
    application.end_if_unused(desk)
    assert bool(ended) == is_ended


@pytest.mark.parametrize(
    ("name", "is_one"),
    [
        ("week-3", True),
        ("Woche 3 – Müller", False),
        ("Klasse 9a", True),
        ("a/b", False),
        ("..", False),
        ("", False),
        ("con.", False),
        ("Aux", False),
        ("com1.x", False),
        ("x" * 80, False),
    ],
)
def test_names_of_sets_are_names_of_folders_everywhere(name, is_one):
    """A name with a path in it, or that a system does not take, is none."""
    assert is_set_name(name) == is_one


@pytest.mark.parametrize(
    ("system", "name", "part"),
    [
        ("linux", "clampbook.desktop", 'Exec="/opt/my programs/clampbook-desk"'),
        ("darwin", "Clampbook.command", "exec '/opt/my programs/clampbook-desk'"),
        (
            "win32",
            "Clampbook.cmd",
            '@start "Clampbook" "/opt/my programs/clampbook-desk"',
        ),
    ],
)
def test_a_shortcut_opens_the_program_of_its_system(system, name, part):
    """Also where its path holds a blank."""
    program = PurePosixPath("/opt/my programs/clampbook-desk")
    told, text = shortcut_file(system, program, None)
    assert told == name
    assert part.format(program) in text


@pytest.mark.parametrize("system", ["linux", "win32"])
def test_a_percent_sign_in_a_path_is_none_of_the_shortcuts_own(system):
    """Both systems fill something in behind one, unless it is written twice."""
    sets = PurePosixPath("/home/ada/100% sure")
    _, text = shortcut_file(system, PurePosixPath("/opt/clampbook-desk"), sets)
    assert '"/home/ada/100%% sure"' in text
