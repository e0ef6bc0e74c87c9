"""Instructor's TOML files, checked by records: every fault at once, where it stands."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from answer_keys.errors import Problem
from workbook.texts import _, figure, later

_Model = TypeVar("_Model", bound=BaseModel)
_Place = tuple[str | int, ...]
_Fault = Mapping[str, Any]
_Schema = Mapping[str, Any]

# tomllib keeps no positions, so lines are found by how they look. That only points at a
# fault, and never decides what the file says.
_TABLE = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]")
_KEY = re.compile(r"""^\s*("[^"]*"|'[^']*'|[A-Za-z0-9_-]+)\s*=""")


class Strict(BaseModel):
    """A table that may hold what its record names, and nothing else."""

    model_config = ConfigDict(extra="forbid", frozen=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class TomlFile:
    """A file as it was read: its text tells lines, its table what is to be checked."""

    path: Path
    text: str
    table: dict[str, Any]

    def problem(self, place: _Place, message: str) -> Problem:
        """Give a fault the line of a place, or of the closest thing around it."""
        line = line_of(place, lines_of(self.text))
        return Problem(path=self.path, line=line, message=message)

    def checked(self, model: type[_Model], problems: list[Problem]) -> _Model | None:
        """Turn the table into a record, or add all that is wrong with it."""
        try:
            # The checks of one table may need to know what stands in another.
            return model.model_validate(self.table, context=self.table)
        except ValidationError as error:
            problems.extend(
                self.problem(tuple(fault["loc"]), _fault_text(dict(fault), model))
                for fault in error.errors()
                if not _is_only_following(dict(fault))
            )
            return None


def read_text(path: Path, problems: list[Problem]) -> str | None:
    """Read a file of the instructor's, or add why it cannot be read."""
    try:
        # Some editors put a byte order mark first, which TOML does not allow.
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        message = _("there is no such file. Put it there, or mend the name.")
    except UnicodeDecodeError:
        message = _("is not UTF-8 text. Save it as UTF-8 in your editor.")
    except OSError as error:
        message = _("cannot be read ({strerror}). Mend that and try again.").format(
            strerror=error.strerror
        )
    problems.append(Problem(path=path, line=None, message=message))
    return None


def read_toml(path: Path, problems: list[Problem]) -> TomlFile | None:
    """Read a file, or add why it cannot be read or where it stops being TOML."""
    text = read_text(path, problems)
    return None if text is None else toml_from_text(path, text, problems)


def toml_from_text(path: Path, text: str, problems: list[Problem]) -> TomlFile | None:
    """Take a text for that of a file, or add where it stops being TOML."""
    try:
        return TomlFile(path=path, text=text, table=_table_of(text))
    except tomllib.TOMLDecodeError as error:
        # Before Python 3.14 the position stands only in the text of the message.
        at = re.search(r"at line (\d+)", str(error))
        line = int(at[1]) if at else max(1, len(text.splitlines()))
        message = _(
            "is not valid TOML: {error}. Mend the line, or the one before it."
        ).format(error=error)
        problems.append(Problem(path=path, line=line, message=message))
        return None


# Lessons share families, and a course reads each of them once a lesson.
@lru_cache(maxsize=64)
def _table_of(text: str) -> dict[str, Any]:
    return tomllib.loads(text)


def lines_of(text: str) -> dict[_Place, int]:
    r"""Line number of every table and key of a TOML text, by path.

    Examples
    --------
    >>> lines_of("a = 1\n[b]\nc = 2\n")
    {('a',): 1, ('b',): 2, ('b', 'c'): 3}
    """
    table: _Place = ()
    tables: list[_Place] = []  # entries of arrays of tables
    found: dict[_Place, int] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _TABLE.match(line):
            table = tuple(part.strip().strip("\"'") for part in header[2].split("."))
            # An array of tables is where its first entry is; the entries have places of
            # their own.
            found.setdefault(table, number)
            if header[1] == "[[":
                table = (*table, sum(path[:-1] == table for path in tables))
                tables.append(table)
                found[table] = number
        elif key := _KEY.match(line):
            found.setdefault((*table, key[1].strip("\"'")), number)
    return found


def line_of(place: _Place, lines: Mapping[_Place, int]) -> int:
    """Line of a place, or of the closest thing around it that has one; else 1."""
    while place:
        if place in lines:
            return lines[place]
        place = place[:-1]
    return 1


def _is_only_following(fault: _Fault) -> bool:
    """Whether a list counts as too short only for entries that are at fault."""
    return bool(
        fault["type"] == "too_short"
        and len(fault["input"]) >= fault["ctx"]["min_length"]
    )


def _fault_text(fault: _Fault, model: type[BaseModel]) -> str:
    """Say where a fault is, as pydantic lists it, what it is and what to write."""
    where = ".".join(str(step) for step in fault["loc"]) or _("the file")
    schema, given = model.model_json_schema(), fault["input"]
    if fault["type"] in ("extra_forbidden", "unexpected_keyword_argument"):
        table = _schema_at(schema, fault["loc"][:-1])
        return _("{where}: there is no such key. {keys}.").format(
            where=where, keys=_keys_for(fault["loc"][-1], table)
        )
    if fault["type"] == "missing":
        return _("{where}: is missing. Write {wanted}.").format(
            where=where, wanted=_wanted(schema, fault["loc"])
        )
    if fault["type"] in ("model_type", "dataclass_type"):
        return _(
            "{where}: {given} is no table. Write [{where}], its keys below."
        ).format(where=where, given=f"{given!r:.80}")
    said = _plain_words(fault)
    shown = f"{where}: {said[0].lower()}{said[1:]}"
    if isinstance(given, dict) or given is None:
        return shown
    return _("{shown} (given: {given})").format(shown=shown, given=f"{given!r:.80}")


# What pydantic says in words of its own, by its name for the fault.
_PLAIN_FAULTS = {
    "float_parsing": later("must be a number: its unit stands in the name of the key"),
    "float_type": later("must be a number"),
    "int_from_float": later("must be a whole number"),
    "int_parsing": later("must be a whole number"),
    "int_type": later("must be a whole number"),
    "string_type": later("must be a text"),
    "tuple_type": later("must be a list"),
    "list_type": later("must be a list"),
    "bool_type": later("must be true or false"),
    "greater_than": later("must be greater than {gt}"),
    "greater_than_equal": later("must be {ge} or more"),
    "less_than": later("must be less than {lt}"),
    "less_than_equal": later("must be {le} or less"),
    "literal_error": later("must be {expected}"),
}


def _plain_words(fault: _Fault) -> str:
    """Say what pydantic has found in words of the file, in the language spoken."""
    if said := _PLAIN_FAULTS.get(fault["type"]):
        limits = fault.get("ctx", {}).items()
        return _(said).format(**{name: _shown(limit) for name, limit in limits})
    return _in_plain_words(fault["msg"])


def _shown(limit: object) -> str:
    return figure(limit) if isinstance(limit, int | float) else str(limit)


def _in_plain_words(said: str) -> str:
    """Say what pydantic has found in words of the file.

    Examples
    --------
    >>> _in_plain_words("Tuple should have at least 2 items after validation")
    'must have at least 2 items'
    """
    said = said.removeprefix("Value error, ").replace(" after validation", "")
    said = re.sub(r"^(Input|Tuple|List|String|Value) should", "must", said)
    return re.sub(r"tuple", "list", said, flags=re.I)


def _keys_for(key: str, table: _Schema) -> str:
    """Name the keys of a table; only that of the same quantity where there is one."""
    known = list(table["properties"])
    # Both `coil` and `coil_v` mean `coil_ohm`: a unit is what is forgotten or taken
    # wrong.
    stems = {key, key.rpartition("_")[0]} - {""}
    same = [name for name in known if name.rpartition("_")[0] in stems]
    if same:
        return _("Write {same}, with the unit in its name").format(
            same=_(" or ").join(same)
        )
    return _("Write one of {known}").format(known=", ".join(known))


def _schema_at(schema: _Schema, steps: _Place) -> _Schema:
    """Find what the schema says of one place in a file."""
    at = schema
    for step in steps:
        at = _entry(at) if isinstance(step, int) else at["properties"][step]
        if "$ref" in at:
            at = schema["$defs"][at["$ref"].rpartition("/")[2]]
    return at


def _entry(schema: _Schema) -> _Schema:
    """What the schema says of the entries of a list, which are all alike."""
    first: _Schema = (schema.get("prefixItems") or [schema.get("items")])[0]
    return first


def _wanted(schema: _Schema, steps: _Place) -> str:
    """Say what may stand at one place in a file."""
    at = _schema_at(schema, steps)
    if "properties" in at:
        return _("a table with {keys}").format(keys=", ".join(at["properties"]))
    if at.get("type") == "array":
        least, most = at.get("minItems", 0), at.get("maxItems")
        count = (
            f"{least}" if least == most else _("{bound} or more").format(bound=least)
        )
        return _("a list of {count}, each {wanted}").format(
            count=count, wanted=_wanted(schema, (*steps, 0))
        )
    if "enum" in at:
        return _(" or ").join(repr(choice) for choice in at["enum"])
    if at.get("type") == "number":
        bounds = [
            _(words).format(bound=figure(at[bound]))
            for bound, words in _BOUNDS
            if bound in at
        ]
        return " ".join([_("a number"), *bounds])
    return _("a text")


_BOUNDS = (
    ("exclusiveMinimum", later("above {bound}")),
    ("minimum", later("from {bound}")),
    ("exclusiveMaximum", later("below {bound}")),
    ("maximum", later("up to {bound}")),
)
