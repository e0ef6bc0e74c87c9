"""Describe how a set-up of one's own is chosen, in menus and on the diagram; pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict
from typing import Any

from workbook.errors import RefusedError
from workbook.measuring.network import GROUND
from workbook.measuring.set_up import instruments_of, options_of, state_after
from workbook.measuring.texts import range_text
from workbook.record.bench import Bench, Contact
from workbook.record.payload import DiagnosticTest, Exercise
from workbook.record.progress import ExerciseProgress
from workbook.record.set_up import AUTO
from workbook.texts import _, capital, later
from workbook.views.choice_view import expected_label, tests_left

Part = dict[str, Any]
Words = Mapping[str, str]

LOOKS = ("eye", "scan tool", "thermometer")
"""What takes no leads or clamp: what it is used on is one of the list."""

_COMMANDS = {
    "off": later("no demand"),
    "normal": later("switched on"),
    "output test": later("output test"),
}
_OPTIONS: Mapping[str, Words] = {
    "control_fuse": (
        _FUSE := {"in": later("in"), "out": later("out"), "lead": later("fused lead")}
    ),
    "load_fuse": _FUSE,
    "relay": {"in": later("in"), "out": later("out"), "jumper": later("jumper 30–87")},
    "load_connector": (_PLUG := {"in": later("plugged in"), "out": later("unplugged")}),
    "module": {**_PLUG, "jumper": later("jumper B1–Q1")},
    "neighbour": _PLUG,
}
_HARNESS = {"at rest": later("at rest"), "moved": later("moved")}
_INSTRUMENTS = {
    "volts": later("volts"),
    "clamp": later("clamp"),
    "ohms": later("ohms"),
    "scope": later("scope"),
    "eye": later("eye, ear and hand"),
    "scan tool": later("scan tool"),
    "thermometer": later("thermometer"),
}
_LOOKED_AT = {
    "eye": later("What to look at"),
    "scan tool": later("What to read out"),
    "thermometer": later("What to hold it to"),
}
_ASKED = {
    "eye": later("Choose what to look at."),
    "scan tool": later("Choose what to read out."),
    "thermometer": later("Choose what to hold it to."),
}
_ZERO = {"zeroed": later("zeroed"), "not zeroed": later("not zeroed")}
_LEADS = ["volts", "ohms"]
# What is done at a part, pointing at it.
_DONE: Mapping[str, Words] = {
    "control_fuse": (
        _FUSE_DONE := {
            "in": later("Put it in"),
            "out": later("Pull it"),
            "lead": later("Fused lead in its place"),
        }
    ),
    "load_fuse": _FUSE_DONE,
    "relay": {
        "in": later("Put it in"),
        "out": later("Pull it"),
        "jumper": later("Fused jumper 30–87 in its place"),
    },
    "load_connector": (
        _PLUG_DONE := {"in": later("Plug it in"), "out": later("Unplug it")}
    ),
    "module": {
        **_PLUG_DONE,
        "jumper": later("Unplug it, with a fused jumper B1–Q1"),
    },
    "neighbour": _PLUG_DONE,
}


def bench_form(exercise: Exercise, progress: ExerciseProgress) -> Part | None:
    """Ask for a set-up, where one can be measured."""
    bench = exercise.bench
    if bench is None:
        return None
    label = _("Set up and measure")
    return {
        "kind": "form",
        # After each reading it begins with how all stands then.
        "key": f"bench:{len(progress.tests)}",
        "action": "test",
        "item": "",
        "fold": None if exercise.is_unlisted else {"name": "bench", "label": label},
        "legend": label,
        "help": "",
        "submit": _("Measure"),
        "fields": [
            _bench_field(bench, _state(bench, progress), _looks(exercise, progress)),
            {"kind": "radios", "name": "expected", "label": expected_label()},
        ],
    }


def looked_at(exercise: Exercise, sent: Mapping[str, Any]) -> str:
    """Give the test that a page asks for as something to look at.

    Raises
    ------
    RefusedError
        Where there is no such thing.
    """
    for test in exercise.tests:
        if test.id == sent.get("look") and test.tool == sent["instrument"]:
            return test.id
    raise RefusedError(_(_ASKED[sent["instrument"]]))


def _looks(
    exercise: Exercise, progress: ExerciseProgress
) -> dict[str, list[DiagnosticTest]]:
    """List what can still be looked at or read out, by what it is done with."""
    left = tests_left(exercise, progress)
    found = {tool: [test for test in left if test.tool == tool] for tool in LOOKS}
    return {tool: tests for tool, tests in found.items() if tests}


def _state(bench: Bench, progress: ExerciseProgress) -> dict[str, str]:
    """Tell how all stands, as the menus have it."""
    return asdict(state_after([test.item for test in progress.tests], bench))


def _bench_field(
    bench: Bench, state: Mapping[str, str], looks: Mapping[str, list[DiagnosticTest]]
) -> Part:
    return {
        "kind": "bench",
        "name": "item",
        "label": _("What is set up, and what is measured"),
        "rows": [
            {"key": "vehicle", "label": _("At the vehicle")},
            {"key": "instrument", "label": _("What is measured")},
        ],
        "menus": [*_vehicle(bench), *_instrument(bench, looks)],
        "signs": _signs(bench, looks),
        "state": dict(state),
        "hint": _("Choose here, or point at the diagram."),
        "expected": {"name": "expected", "label": expected_label()},
    }


# ---- the menus -----------------------------------------------------------------------


def _vehicle(bench: Bench) -> Iterator[Part]:
    yield _menu("vehicle", "command", _("Command"), _COMMANDS, kind="radios")
    for part in bench.parts:
        words = _words(_OPTIONS, part, bench)
        yield _menu("vehicle", part.id, capital(part.label), words)
    yield _menu("vehicle", "harness", _("Harness"), _HARNESS)


def _instrument(
    bench: Bench, looks: Mapping[str, list[DiagnosticTest]]
) -> Iterator[Part]:
    on_hand = {
        name: label
        for name, label in _INSTRUMENTS.items()
        if name in (*instruments_of(bench), *looks)
    }
    yield _menu("instrument", "instrument", _("Instrument"), on_hand, kind="radios")
    points = _named(bench.points)
    yield _own("plus", _("Plus lead on"), points, _LEADS)
    yield _own("minus", _("Minus lead on"), points, _LEADS)
    # A scope's clip is on ground, so that it has no menu for minus.
    if "scope" in on_hand:
        yield {**_own("plus", _("Probe on"), points, ["scope"]), "is_wide": True}
    for instrument in _LEADS:
        known = bench.ranges.get(instrument, ())
        named = {each: range_text(instrument, each) for each in known}
        ranges = {AUTO: _("by itself")} | named
        yield _own("range", _("Range"), ranges, [instrument])
    wires = _named(bench.wires)
    yield _own("wire", _("Clamp around"), wires, ["clamp"])
    yield _own("back", _("And around"), {"": _("no other wire")} | wires, ["clamp"])
    scales = {each: f"{each} mV/A" for each in bench.scales}
    yield _own("scale", _("Scale"), scales, ["clamp"])
    zero = {name: _(label) for name, label in _ZERO.items()}
    yield _own("zero", _("Clamp"), zero, ["clamp"])
    for tool, tests in looks.items():
        choices = {test.id: test.title for test in tests}
        label = _(_LOOKED_AT[tool])
        yield {**_own("look", label, choices, [tool]), "is_wide": True}


def _words(known: Mapping[str, Words], part: Contact, bench: Bench) -> Words:
    """Keep of the words for a part those of what can be done with it here."""
    return {option: known[part.id][option] for option in options_of(part.id, bench)}


def _menu(row: str, name: str, label: str, words: Words, kind: str = "select") -> Part:
    options = [{"value": value, "label": _(word)} for value, word in words.items()]
    return {
        "row": row,
        "kind": kind,
        "key": name,
        "name": name,
        "label": label,
        "options": options,
        "is_set": True,
    }


def _own(name: str, label: str, choices: Words, instruments: list[str]) -> Part:
    """Describe a menu that only some instruments have, its words translated."""
    options = [{"value": value, "label": text} for value, text in choices.items()]
    return {
        "row": "instrument",
        "kind": "select",
        "key": f"{name}-{instruments[0].replace(' ', '-')}",
        "name": name,
        # These hold a value that is usual; the others begin with nothing chosen.
        "is_set": name in ("range", "back", "zero"),
        "label": label,
        "options": options,
        "of": instruments,
    }


def _named(contacts: Iterable[Contact]) -> dict[str, str]:
    return {each.id: capital(each.label) for each in contacts}


# ---- the diagram ---------------------------------------------------------------------


def _signs(
    bench: Bench, looks: Mapping[str, list[DiagnosticTest]]
) -> dict[str, list[list[str]]]:
    """List what a value of a menu puts on the diagram; those of one instrument first.

    By ``menu=value``, or ``instrument menu=value`` where it differs for that.
    """
    signs = {f"command={each}": [[each, "enable"]] for each in _COMMANDS}
    signs["harness=moved"] = [["moved", "load_wire"]]
    for part in bench.parts:
        signs[f"{part.id}=out"] = [["out", part.at]]
        signs[f"{part.id}=lead"] = [["lead", part.at]]
        jumper = "past" if bench.is_smart else "jumper"
        ends = [[jumper, "30"], [jumper, "87"]]
        signs[f"{part.id}=jumper"] = [["out", part.at], *ends]
    for point in bench.points:
        signs[f"plus={point.id}"] = [["plus", point.at]]
        signs[f"scope plus={point.id}"] = [["scope", point.at]]
        signs[f"minus={point.id}"] = [["minus", point.at]]
        if point.id == GROUND:
            signs["instrument=scope"] = [["minus", point.at]]
    for wire in bench.wires:
        signs[f"wire={wire.id}"] = signs[f"back={wire.id}"] = [["clamp", wire.at]]
    for test in (test for tests in looks.values() for test in tests):
        signs[f"look={test.id}"] = [[sign.kind, sign.at] for sign in test.signs]
    return signs


def moves(exercise: Exercise, progress: ExerciseProgress) -> dict[str, list[Part]]:
    """List by spot what can be set up by pointing at it.

    Each is done to the thing in ``of``, ``sets`` menus, and goes with some
    ``instruments``: where another is chosen, the first of them is taken.
    """
    bench = exercise.bench
    found: dict[str, list[Part]] = {}
    if bench is not None:
        for at, move in _moves(bench, _looks(exercise, progress)):
            found.setdefault(at, []).append(move)
    return found


def _moves(
    bench: Bench, looks: Mapping[str, list[DiagnosticTest]]
) -> Iterator[tuple[str, Part]]:
    for point in bench.points:
        name = point.label
        yield point.at, _move(name, _("Plus lead"), _LEADS, plus=point.id)
        yield point.at, _move(name, _("Minus lead"), _LEADS, minus=point.id)
        if "scope" in instruments_of(bench):
            yield point.at, _move(name, _("Scope"), ["scope"], plus=point.id)
    for wire in bench.wires:
        yield wire.at, _clamp_around(wire, bench)
    for part in bench.parts:
        for value, label in _words(_DONE, part, bench).items():
            yield part.at, _move(part.label, _(label), [], **{part.id: value})
    for value, label in _COMMANDS.items():
        yield "enable", _move(_("Command"), capital(_(label)), [], command=value)
    for tool, tests in looks.items():
        of = _(_INSTRUMENTS[tool])
        for test in tests:
            yield test.at, _move(of, test.title, [tool], look=test.id)


def _clamp_around(wire: Contact, bench: Bench) -> Part:
    """Close the clamp around a wire; where there is a fuse, its lead is the wire."""
    name, sets = wire.label, {"wire": wire.id, "back": ""}
    if bench.part(wire.id) is not None:
        # A clamp closes around no fuse in its holder: a lead comes in its place.
        sets[wire.id] = "lead"
    return _move(name, _("Clamp around it"), ["clamp"], **sets)


def _move(of: str, label: str, instruments: list[str], **sets: str) -> Part:
    return {
        "of": capital(of),
        "label": label,
        "instruments": instruments,
        "sets": sets,
    }
