"""What every command has in common: help, names, exit codes, two streams."""

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
import sysconfig

import pytest
from click import Context
from click.testing import CliRunner

from generator.cli import main
from tests.cli.command import error_of, json_of, run

COMMANDS = {
    name: main.get_command(Context(main), name)
    for name in main.list_commands(Context(main))
}
NAMES = sorted(COMMANDS)


def test_commands_have_the_names_of_their_design():
    """The commands of a week with a class are there."""
    week = {"demo", "generate", "simulate", "validate", "grade", "show"}
    assert week | {"lessons", "doctor"} <= set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_help_has_an_example_that_the_command_accepts(name):
    """The example of a command's help is one that it would run."""
    text = " ".join(run(name, "--help").stdout.split())
    example = re.search(r"Example: clampbook (\S+)(.*?) Options:", text)
    assert example[1] == name
    COMMANDS[name].make_context(name, shlex.split(example[2]))


@pytest.mark.parametrize("name", NAMES)
def test_help_tells_what_each_option_is_for(name):
    """No option is listed without a word on it."""
    silent = [
        option.name
        for option in COMMANDS[name].params
        if option.param_type_name == "option" and not option.help
    ]
    assert silent == []


def test_help_of_the_whole_lists_every_command():
    """Called with --help or -h the command says what there is and where to begin."""
    for asked in ("--help", "-h"):
        text = run(asked).stdout
        assert all(f"\n  {name} " in text for name in NAMES)
        assert "clampbook demo" in text


@pytest.mark.parametrize(
    "arguments",
    [
        ("bogus",),
        ("grade",),
        ("show", "--bogus", "SET"),
        ("generate",),
        ("generate", "--mode=exam", "--out=x"),
        ("generate", "--exercises=0", "--out=x"),
        ("generate", "--exercises=51", "--out=x"),
        ("generate", "--exercises=two", "--out=x"),
        ("simulate", "--kinds=novice,wizard", "SET"),
        ("show", "--passphrase=", "SET"),
    ],
)
def test_wrong_use_exits_with_2_and_points_to_help(arguments):
    """What was typed wrong is named in one line below the usage."""
    result = run(*arguments, code=2)
    assert result.stdout == ""
    assert result.stderr.startswith("Usage: ")
    assert re.search(r"\nError: [^\n]+\n$", result.stderr)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("garde",), "There is no command 'garde'. Did you mean grade?"),
        (("xyzzy",), "There is no command 'xyzzy'. See 'clampbook --help'."),
        (("generate", "-students", "3"), "have two hyphens before them"),
        (("generate", "--out", "a", "b"), "Put quotes around what has blanks in it"),
    ],
)
def test_usual_slips_of_typing_are_answered_with_what_is_meant(arguments, said):
    """A technician need not know how a shell takes a line apart."""
    assert said in run(*arguments, code=2).stderr


def test_folder_that_is_not_there_is_told_apart_from_one_that_is_no_set(tmp_path):
    """The first is a slip in its name, the second another folder."""
    assert "there is no such folder" in error_of("grade", tmp_path / "week-3")
    assert "has no set.toml" in error_of("grade", tmp_path)


_MAIN = "from generator.cli import main; main()"


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such terminals")
def test_error_fits_the_terminal(tmp_path):
    """Lines end between words."""
    ours, theirs = os.openpty()
    asked = {"COLUMNS": "60"}
    subprocess.run(
        [sys.executable, "-c", _MAIN, "show", "nowhere-at-all"],
        cwd=tmp_path,
        env=os.environ | asked | {"PYTHONPATH": os.pathsep.join(sys.path)},
        stderr=theirs,
        check=False,
        timeout=120,
    )
    said = os.read(ours, 10_000).decode()
    os.close(ours)
    os.close(theirs)
    lines = said.splitlines()
    assert len(lines) > 1
    assert max(map(len, lines)) <= 60
    assert "no such folder" in " ".join(lines)


@pytest.mark.parametrize("asked", ["0", "2001", "", "-3", "²", "no-such.csv", "."])
def test_students_that_are_neither_number_nor_file_are_wrong_use(
    asked, tmp_path, monkeypatch
):
    """The number or the class list is named, with what to do."""
    monkeypatch.chdir(tmp_path)
    error = error_of("generate", f"--students={asked}", "--out=set", code=2)
    assert repr(asked) in error
    assert "Name 1 to 2000, a CSV file" in error
    assert list(tmp_path.iterdir()) == []


def test_lessons_are_listed():
    """The lessons stand one a line, or in one JSON object."""
    assert json_of("lessons")["lessons"][0]["id"] == "two-circuits"
    assert run("lessons").stdout.startswith("two-circuits: ")


def test_version_is_that_of_the_package():
    """The version is one line."""
    assert re.fullmatch(r"clampbook, version \d+\.\d+\.\d+\n", run("--version").stdout)


def installed(*arguments, cwd, **env):
    """Run the installed command as a process of its own."""
    command = shutil.which("clampbook", path=sysconfig.get_path("scripts"))
    if command is None:
        pytest.skip("clampbook is not installed as a command")
    return subprocess.run(
        [command, *arguments],
        cwd=cwd,
        env=os.environ | env,
        capture_output=True,
        check=False,
        encoding="utf-8",
        timeout=120,
    )


def test_installed_command_keeps_its_streams_apart(graded_set, tmp_path):
    """With --json standard output is JSON alone; words and progress go elsewhere."""
    own = shutil.copytree(graded_set, tmp_path / "own")
    done = installed("grade", "own", "--json", cwd=tmp_path)
    assert done.returncode == 0
    assert len(json.loads(done.stdout)["files"]) == 2
    assert "Graded 2 of 2 files" in done.stderr
    assert not set(json.loads(done.stdout)) & set(done.stderr.split())
    assert (own / "results" / "class-report.html").is_file()


@pytest.mark.parametrize(("folder", "code"), [("nowhere", 1), ("--bogus", 2)])
def test_installed_command_fails_with_its_exit_code(folder, code, tmp_path):
    """Content at fault is 1 and wrong use 2, in words and without a traceback."""
    done = installed("show", folder, "--json", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (code, "")
    assert "Error: " in done.stderr
    assert "Traceback" not in done.stderr


def test_command_in_a_message_can_be_typed_as_it_stands(tmp_path):
    """Where the path does not find the program, it is named with its folder."""
    nowhere = os.fspath(tmp_path)
    done = installed("show", "nowhere", cwd=tmp_path, PATH=nowhere)
    command = re.search(r"'(\S+clampbook) generate' has written", done.stderr)[1]
    typed = subprocess.run(
        [command, "show", "--help"],
        cwd=tmp_path,
        env=os.environ | {"PATH": nowhere},
        capture_output=True,
        check=True,
        encoding="utf-8",
    )
    assert f"{command} show week-3" in " ".join(typed.stdout.split())


@pytest.mark.nightly
def test_terminal_without_our_signs_shows_the_rest(graded_set, tmp_path):
    """A terminal of ASCII alone shows a question mark, not a traceback."""
    asked = {"PYTHONIOENCODING": "ascii"}
    done = installed("show", str(graded_set), cwd=tmp_path, **asked)
    assert done.returncode == 0, done.stderr
    assert "correction" in done.stdout
    listed = installed("show", str(graded_set), "--json", cwd=tmp_path, **asked)
    assert "µ" in listed.stdout or "Ω" in listed.stdout
    assert len([json.loads(line) for line in listed.stdout.splitlines()]) == 4


def test_error_of_the_program_itself_is_not_hidden(monkeypatch):
    """A fault of ours is no content at fault: it rises with its traceback."""

    def broken(*_):
        raise RuntimeError("a fault of ours")

    monkeypatch.setattr("generator.commands.show.opened_set", broken)
    result = CliRunner().invoke(main, ["show", "x"])
    assert isinstance(result.exception, RuntimeError)
