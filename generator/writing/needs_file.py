"""What a set should practise after an earlier one, kept with the instructor's files."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING

from pydantic import TypeAdapter, ValidationError

from answer_keys.draw_needs import Needs
from answer_keys.own_command import typed
from answer_keys.written_files import write_private
from generator.writing.errors import ClassSetError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["NEEDS_NAME", "read_needs", "write_needs"]

NEEDS_NAME = "practises.json"

_NEEDS = TypeAdapter(Needs)


def write_needs(path: Path, needs: Needs) -> None:
    """Write needs as JSON: the set is drawn again from them and its secret."""
    text = json.dumps(asdict(needs), indent=1, sort_keys=True)
    write_private(path, f"{text}\n".encode())


def read_needs(path: Path) -> Needs | None:
    """Read needs; None where a set came after no other.

    Raises
    ------
    ClassSetError
        Where the file was changed into something else.
    """
    if not path.is_file():
        return None
    try:
        return _NEEDS.validate_json(path.read_bytes())
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        where = ".".join(map(str, first["loc"]))
        raise ClassSetError(
            path,
            f"cannot be used: $.{where}: {first['msg']}; put back the file as "
            f"'{typed('generate --after')}' has written it",
        ) from error
