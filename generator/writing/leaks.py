"""Looks for answers in what students get: every string, decoded as far as it goes."""

import base64
import binascii
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from generator.model.faults import FAULTS, REPAIRS
from workbook.sealed import unseal

__all__ = ["forbidden_strings", "leaks_in"]

_DATA_URI = re.compile(r"data:[\w/+.-]+;base64,([A-Za-z0-9+/=]+)")
# A value written with this many digits cannot stand somewhere by chance.
_DIGITS = (6, 7, 8)


def forbidden_strings(
    secret: bytes, records: Sequence[Mapping[str, Any]]
) -> dict[str, str]:
    """What no student's file may hold, with a name for each.

    Parameters
    ----------
    secret : bytes
        The class secret.
    records : sequence of mapping
        Key records of one student.
    """
    found = {fault: f"fault id {fault}" for fault in FAULTS}
    found |= {repair: f"repair {repair}" for repair in REPAIRS}
    for text in (
        secret.hex(),
        secret.hex().upper(),
        base64.b64encode(secret).decode().rstrip("="),
        base64.urlsafe_b64encode(secret).decode().rstrip("="),
    ):
        found[text] = "the class secret"
    for record in records:
        for answer in (*record["predictions"], record["verification"]):
            for value in (answer["value"], *answer["band"]):
                label = f"answer {answer['id']} of exercise {record['exercise']}"
                found |= dict.fromkeys(_number_texts(value), label)
    return found


def _number_texts(value: float) -> set[str]:
    """A value in the common ways to write it, prefixes included."""
    scaled = (value, value * 1e3, value * 1e6)
    texts = {repr(value)} | {f"{v:.{n}g}" for v in scaled for n in _DIGITS}
    return {text for text in texts if sum(c.isdigit() for c in text.strip("0.")) >= 6}


def leaks_in(notebook: str, forbidden: Mapping[str, str], mode: str) -> list[str]:
    """Names of the forbidden strings that a notebook holds, with where they stand.

    In a practice set the sealed part carries feedback, and with it the answers; there
    only its field names are searched. In a graded set all of it is.
    """
    content = json.loads(notebook)
    places = list(_strings(content, "$"))
    sealed = content["metadata"].get("clampbook", {}).get("sealed")
    if sealed:
        inside = list(_strings(unseal(sealed), "sealed"))
        names_only = mode == "practice"
        places += [(p, t) for p, t in inside if p.endswith("(name)") or not names_only]
    return sorted(
        {
            f"{where}: {label}"
            for where, text in places
            for needle, label in forbidden.items()
            if needle in text
        }
    )


def _strings(value: Any, where: str) -> Iterator[tuple[str, str]]:  # noqa: ANN401 - JSON
    """Every string of a JSON value with its place; names, numbers and data decoded."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield f"{where}.{name} (name)", name
            yield from _strings(inner, f"{where}.{name}")
    elif isinstance(value, list):
        for place, inner in enumerate(value):
            yield from _strings(inner, f"{where}[{place}]")
    elif isinstance(value, str):
        yield where, value
        for match in _DATA_URI.finditer(value):
            yield f"{where} (decoded)", _decoded(match[1])
        if ".attachments." in where:
            yield f"{where} (decoded)", _decoded(value)
    elif isinstance(value, float):
        yield where, repr(value)


def _decoded(text: str) -> str:
    try:
        return base64.b64decode(text).decode("utf-8", errors="replace")
    except binascii.Error:
        return ""
