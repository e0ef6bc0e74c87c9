"""Where in an instructor's file a value stands, what is wrong with it, what may be."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pydantic import BaseModel


Path = tuple[str | int, ...]

_TABLE = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]")
_KEY = re.compile(r"""^\s*("[^"]*"|'[^']*'|[A-Za-z0-9_-]+)\s*=""")


def lines_of(text: str) -> dict[Path, int]:
    r"""Line number of every table and key of a TOML text, by path.

    Examples
    --------
    >>> lines_of("a = 1\n[b]\nc = 2\n")
    {('a',): 1, ('b',): 2, ('b', 'c'): 3}
    """
    table: Path = ()
    tables: list[Path] = []  # entries of arrays of tables
    found: dict[Path, int] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _TABLE.match(line):
            table = tuple(part.strip().strip("\"'") for part in header[2].split("."))
            found.setdefault(table, number)
            if header[1] == "[[":
                table = (*table, sum(path[:-1] == table for path in tables))
                tables.append(table)
                found[table] = number
        elif key := _KEY.match(line):
            found.setdefault((*table, key[1].strip("\"'")), number)
    return found


def line_of(path: Path, lines: Mapping[Path, int]) -> int:
    """Line of a path, or of the closest thing around it that has one; else 1."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return 1


Fault = Mapping[str, Any]
Schema = Mapping[str, Any]


def is_only_following(fault: Fault) -> bool:
    """Whether a list counts as too short only for entries that are at fault."""
    return bool(
        fault["type"] == "too_short"
        and len(fault["input"]) >= fault["ctx"]["min_length"]
    )


def fault_text(fault: Fault, model: type[BaseModel]) -> str:
    """Say where a fault is, what it is and what is allowed.

    Parameters
    ----------
    fault : mapping
        As pydantic lists it: ``type``, ``loc``, ``msg`` and ``input``.
    model : type
        The record that the whole file should be.
    """
    where = ".".join(str(step) for step in fault["loc"]) or "the file"
    schema = model.model_json_schema()
    if fault["type"] == "extra_forbidden":
        table = _schema_at(schema, fault["loc"][:-1])
        return f"{where}: there is no such key; {_keys_for(fault['loc'][-1], table)}"
    if fault["type"] == "missing":
        return f"{where}: is missing; allowed is {_allowed(schema, fault['loc'])}"
    said = re.sub(
        "tuple", "list", fault["msg"].removeprefix("Value error, "), flags=re.I
    )
    said = said.replace(" after validation", "")
    if fault["type"] == "float_parsing":
        said += ": its unit stands in the name of the key"
    given = fault["input"]
    shown = (
        "" if isinstance(given, dict) or given is None else f" (given: {given!r:.80})"
    )
    return f"{where}: {said[0].lower()}{said[1:]}{shown}"


def _keys_for(key: str, table: Schema) -> str:
    """Name the keys of a table; only that of the same quantity where there is one."""
    known = list(table["properties"])
    stems = {key, key.rpartition("_")[0]} - {""}
    same = [name for name in known if name.rpartition("_")[0] in stems]
    if same:
        return f"allowed is {' or '.join(same)}, with the unit in its name"
    return f"allowed are {', '.join(known)}"


def _schema_at(schema: Schema, steps: tuple[str | int, ...]) -> Schema:
    """Find what the schema says of one place in a file."""
    at = schema
    for step in steps:
        at = _entry(at) if isinstance(step, int) else at["properties"][step]
        if "$ref" in at:
            at = schema["$defs"][at["$ref"].rpartition("/")[2]]
    return at


def _entry(schema: Schema) -> Schema:
    """What the schema says of the entries of a list, which are all alike."""
    first: Schema = (schema.get("prefixItems") or [schema.get("items")])[0]
    return first


def _allowed(schema: Schema, steps: tuple[str | int, ...]) -> str:
    """Say what may stand at one place in a file."""
    at = _schema_at(schema, steps)
    if "properties" in at:
        return f"a table with {', '.join(at['properties'])}"
    if at.get("type") == "array":
        least, most = at.get("minItems", 0), at.get("maxItems")
        count = f"{least}" if least == most else f"{least} or more"
        return f"a list of {count}, each {_allowed(schema, (*steps, 0))}"
    if "enum" in at:
        return " or ".join(repr(choice) for choice in at["enum"])
    if at.get("type") == "number":
        return "a number" + "".join(
            f" {words} {at[bound]:g}" for bound, words in _BOUNDS if bound in at
        )
    return "a text"


_BOUNDS = (
    ("exclusiveMinimum", "above"),
    ("minimum", "from"),
    ("exclusiveMaximum", "below"),
    ("maximum", "up to"),
)
