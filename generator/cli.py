"""The command: what an instructor or a program types.

Everything for people goes to standard error, so that ``--json`` leaves JSON alone on
standard output. Exit codes: 0 done, 1 content at fault, 2 usage.
"""

from __future__ import annotations

import errno
import os
import re
import shutil
import sys
from difflib import get_close_matches
from importlib import import_module
from inspect import cleandoc
from io import TextIOWrapper

import click

from answer_keys.errors import ContentError, PassphraseNeededError
from answer_keys.own_command import typed
from generator.wrapping import wrapped

_ERROR = "Error: "
_FULL = {errno.ENOSPC, errno.EDQUOT}
# Name of each command, in the order of a class's week, and the module that has it.
_COMMANDS = {
    "demo": "demo",
    "desk": "desk",
    "generate": "generate",
    "classes": "classes",
    "cluster": "classes",
    "validate": "validate",
    "handouts": "handouts",
    "site": "site",
    "serve": "site",
    "hub": "hub",
    "simulate": "simulate",
    "grade": "grade",
    "report": "report",
    "forget": "forget",
    "show": "show",
    "netlist": "netlist",
    "lessons": "lessons",
    "doctor": "doctor",
}


class _Commands(click.Group):
    """Loads a command when it is asked for; its content errors exit with 1 and a text.

    The database, the notebook kernel and the solver take seconds to load, and no
    command needs all of them.
    """

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in _COMMANDS:
            return None
        module = import_module(f"generator.commands.{_COMMANDS[cmd_name]}")
        command: click.Command = getattr(module, cmd_name)
        if command.help:
            # A paragraph of its own that is not wrapped: it would break at a hyphen.
            example = f"\n\n\b\nExample: {typed()} "
            command.help = re.sub(
                r"\s+Example: clampbook ", lambda _: example, cleandoc(command.help)
            )
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args[0][:1] != "-" and args[0] not in _COMMANDS:
            near = get_close_matches(args[0], _COMMANDS)
            known = f"Did you mean {near[0]}?" if near else f"See '{typed('--help')}'."
            raise click.UsageError(f"There is no command {args[0]!r}. {known}", ctx)
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: click.Context) -> object:
        try:
            return self._done(ctx)
        except click.UsageError as error:
            text = f"{error.format_message()}{_hint(error)}"
            raise click.UsageError(_fitted(text), error.ctx) from error
        except click.ClickException as error:
            raise click.ClickException(_fitted(error.message)) from error

    def _done(self, ctx: click.Context) -> object:
        try:
            return super().invoke(ctx)
        except PassphraseNeededError as error:
            text = f"{error}: set CLAMPBOOK_PASSPHRASE, or give --passphrase"
            raise click.ClickException(text) from error
        except ContentError as error:
            raise click.ClickException(str(error)) from error
        except OSError as error:
            told = _told(error)
            if told is None:
                raise
            raise click.ClickException(told) from error


def _hint(error: click.UsageError) -> str:
    """Say what is likely meant by what a shell makes of it."""
    if isinstance(error, click.NoSuchOption) and len(error.option_name) == 2:
        return " Names of more than one letter have two hyphens before them."
    if "unexpected extra argument" in error.message:
        return " Put quotes around what has blanks in it."
    return ""


def _fitted(message: str) -> str:
    """Wrap an error for a terminal, behind the word that click puts before it."""
    if not sys.stderr.isatty():
        return message
    width = shutil.get_terminal_size().columns
    return wrapped(f"{_ERROR}{message}", width).removeprefix(_ERROR)


def _told(error: OSError) -> str | None:
    """Say what a disk refuses and where; None for what no disk has to do with."""
    name: str | None = error.filename
    why = error.strerror or ""
    if isinstance(error, shutil.Error):
        # What a tree of files was copied with: the first that failed stands for all.
        (_, name, why), *_ = error.args[0]
    if any(os.strerror(number) in why for number in _FULL):
        where = "" if name is None else f"{name}: "
        return f"{where}the disk is full; make room on it, and run this again"
    return None if name is None else f"{name}: cannot be read or written ({why})"


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="clampbook", prog_name="clampbook")
def main() -> None:
    """Teach the diagnosis of relay-controlled circuits: generate, validate, grade.

    Begin with 'clampbook demo'.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            # A terminal without µ or Ω shows a question mark, and the work goes on.
            stream.reconfigure(errors="replace")
