"""Runs the command as a person or a program types it."""

import json

from click.testing import CliRunner

from generator.cli import main


def run(*arguments, code=0, env=None):
    """Run the command, which must end with an exit code and without a traceback."""
    result = CliRunner().invoke(main, [str(each) for each in arguments], env=env)
    if not isinstance(result.exception, SystemExit | None):
        raise result.exception
    assert result.exit_code == code, result.stderr
    return result


def json_of(*arguments, code=0, env=None):
    """Run the command with --json and read all of its standard output as JSON."""
    return json.loads(run(*arguments, "--json", code=code, env=env).stdout)


def error_of(*arguments, code=1, env=None):
    """Run a command that fails; what it says, with nothing on standard output."""
    result = run(*arguments, code=code, env=env)
    assert result.stdout == ""
    assert result.stderr.count("Error: ") == 1
    return result.stderr.partition("Error: ")[2]


def files_below(folder):
    """Every file below a folder with its bytes."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.is_symlink()
    }
