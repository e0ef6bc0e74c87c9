"""Looks for answers in what students get: every string, decoded as far as it goes."""

from __future__ import annotations

import base64
import binascii
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import unescape
from typing import Any
from urllib.parse import unquote_to_bytes

from answer_keys.keys.key_questions import NumberKey
from answer_keys.keys.key_record import KeyRecord
from answer_keys.misconceptions import MISCONCEPTIONS
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.repairs import REPAIRS
from workbook.errors import SealError
from workbook.record.sealed import unseal
from workbook.texts import LANGUAGES, speaking, translated

_DATA_URI = re.compile(r"data:[\w/+.-]*((?:;[\w=+.-]+)*),([^\s\"'<>()]+)")
# Places of a notebook where data stands as plain base64.
_BASE64_PLACES = (".attachments.", ".data.")
# A value written with this many digits cannot stand somewhere by chance.
_DIGITS = (6, 7, 8)
# All of a number of so many digits, in small letters, and what stands close about it.
_NUMBER = re.compile(r"[0-9.,e+-]{6,}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Forbidden:
    """What no student's file may hold, each string with a name for it.

    Attributes
    ----------
    ids : mapping of str to str
        Faults, repairs, misconceptions and the class secret: allowed nowhere.
    answers : mapping of str to str
        Right numbers, and what is wrong with a test: allowed only in the sealed part
        of a practice set.
    """

    ids: Mapping[str, str]
    answers: Mapping[str, str]


def forbidden_strings(secret: bytes, records: Sequence[KeyRecord]) -> Forbidden:
    """List what no file of one student may hold.

    Parameters
    ----------
    secret : bytes
        The class secret.
    records : sequence of KeyRecord
        Key records of the student.
    """
    ids = {fault: f"fault id {fault}" for fault in FAULTS}
    ids |= {repair: f"repair {repair}" for repair in REPAIRS}
    ids |= {
        name: f"misconception {name}"
        for name, one in MISCONCEPTIONS.items()
        if one.kind == "finding"
    }
    ids |= dict.fromkeys(_secret_texts(secret), "the class secret")
    answers = {
        text: f"answer {answer.id} of exercise {record.exercise}"
        for record in records
        for answer in _numbers_of(record)
        for value in (answer.value, *answer.band)
        for text in _number_texts(value)
    }
    answers |= {
        text: f"mistake of {test.id} in exercise {record.exercise}"
        for record in records
        for test in record.tests
        if test.mistake
        for text in _in_every_language(test.mistake)
    }
    return Forbidden(ids=_folded(ids), answers=_folded(answers))


def _in_every_language(text: str) -> Iterator[str]:
    for language in LANGUAGES:
        with speaking(language):
            yield translated(text)


def _numbers_of(record: KeyRecord) -> list[NumberKey]:
    """Every number that an exercise may ask for."""
    asked = [each.number for each in record.questions if each.number]
    return [*record.predictions, record.verification, *asked]


def _folded(names: Mapping[str, str]) -> dict[str, str]:
    return {text.casefold(): name for text, name in names.items()}


def _secret_texts(secret: bytes) -> tuple[str, ...]:
    """The secret in the common ways to write bytes; decoded data reads as Latin-1."""
    encoded = (
        base64.b64encode(secret),
        base64.urlsafe_b64encode(secret),
        base64.b32encode(secret),
    )
    # Padding is left off, as many writers do: what is looked for is in either.
    texts = [text.decode("ascii").rstrip("=") for text in encoded]
    return (secret.hex(), secret.hex(" "), secret.decode("latin-1"), *texts)


def _number_texts(value: float) -> set[str]:
    """A value in the common ways to write it, prefixes and decimal comma included."""
    scaled = (value, value * 1e3, value * 1e6)
    texts = {repr(value)} | {f"{v:.{n}g}" for v in scaled for n in _DIGITS}
    texts |= {f"{value:.{n - 1}e}" for n in _DIGITS}
    # Fewer digits turn up anywhere, in a date or a size: they prove nothing.
    telling = {t for t in texts if sum(c.isdigit() for c in t.strip("0.")) >= 6}
    return telling | {text.replace(".", ",") for text in telling}


def leaks_in(notebook: str, forbidden: Forbidden, mode: str) -> list[str]:
    """Names of the forbidden strings that a notebook holds, with where they stand.

    In a practice set the sealed part carries feedback, and with it the right numbers;
    in a graded set it holds none, and in an examination no reading either.
    """
    content = json.loads(notebook)
    everything = {**forbidden.ids, **forbidden.answers}
    found = _found(content, "$", everything)
    own = content["metadata"].get("clampbook")
    sealed = own.get("sealed") if isinstance(own, dict) else None
    if isinstance(sealed, str):
        try:
            opened = unseal(sealed)
        except SealError as error:
            return sorted({*found, f"sealed: {error}"})
        inside = forbidden.ids if mode == "practice" else everything
        found |= _found(opened, "sealed", inside)
        if mode == "examination":
            found |= set(_readings_in(opened))
    return sorted(found)


def _readings_in(opened: Mapping[str, Any]) -> Iterator[str]:
    """Name what is read on a vehicle, or is known only from what is read there."""
    for exercise in opened["exercises"]:
        where = f"exercise {exercise['number']}"
        for name in ("feedback", "given", "questions"):
            if exercise.get(name):
                yield f"sealed: {name} of {where}"
        for test in exercise["tests"]:
            if test["display"] or test.get("picture"):
                yield f"sealed: the reading of {test['id']} in {where}"


def leaks_in_page(page: str, forbidden: Forbidden) -> list[str]:
    """Names of the forbidden strings that a page for students holds.

    Paper carries no answers, whatever the mode of the set.
    """
    return sorted(
        _found(unescape(page), "page", {**forbidden.ids, **forbidden.answers})
    )


def _found(value: Any, where: str, names: Mapping[str, str]) -> set[str]:  # noqa: ANN401 - JSON
    places: list[tuple[str, str]] = []
    _gather(value, where, places)
    # One search of all texts at once: places matter only where there is a leak.
    everything = _plain("\n".join(dict.fromkeys(text for _, text in places)))
    # Most of what is looked for are numbers, and little of what a file holds.
    numbers = "\n".join(_NUMBER.findall(everything))
    leaked = {
        needle: name
        for needle, name in names.items()
        if needle in (numbers if _NUMBER.fullmatch(needle) else everything)
    }
    if not leaked:
        return set()
    return {
        f"{place}: {name}"
        for place, text in [(place, _plain(text)) for place, text in places]
        for needle, name in leaked.items()
        if needle in text
    }


def _plain(text: str) -> str:
    # A page keeps a number with its unit by a blank of another kind.
    return text.replace("\u00a0", " ").casefold()


def _gather(value: Any, where: str, places: list[tuple[str, str]]) -> None:  # noqa: ANN401 - JSON
    """Add every string of a JSON value with its place; names, numbers, data decoded."""
    if isinstance(value, dict):
        for name, inner in value.items():
            places.append((f"{where}.{name} (name)", name))
            _gather(inner, f"{where}.{name}", places)
    elif isinstance(value, list):
        for place, inner in enumerate(value):
            _gather(inner, f"{where}[{place}]", places)
        if all(isinstance(line, str) for line in value):
            # A notebook keeps long texts as lists of their lines.
            _gather("".join(value), where, places)
    elif isinstance(value, str):
        places.append((where, value))
        for match in _DATA_URI.finditer(value):
            data = match[2]
            packed = match[1].endswith(";base64")
            unquoted = unquote_to_bytes(data).decode("latin-1")
            text = _decoded(data) if packed else unquoted
            places.append((f"{where} (decoded)", text))
        if any(place in where for place in _BASE64_PLACES):
            places.append((f"{where} (decoded)", _decoded(value)))
    elif isinstance(value, int | float):
        places.append((where, repr(value)))


def _decoded(text: str) -> str:
    plain = unquote_to_bytes(text).translate(None, b"\r\n \t=")
    try:
        data = base64.b64decode(plain + b"=" * (-len(plain) % 4))
    except binascii.Error:
        return ""
    # Latin-1 reads every byte, and ASCII as what it is.
    return data.decode("latin-1")
