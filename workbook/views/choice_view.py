"""Describe how the next test is chosen: by place and instrument; pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from workbook.judging.planned import minutes_of, open_places
from workbook.judging.statements import listed
from workbook.record.payload import DiagnosticTest, Exercise
from workbook.record.progress import ExerciseProgress
from workbook.texts import _, figure, later
from workbook.titles import SHARED_MARK, shared_ending, short_title
from workbook.views.view_parts import text_part

Part = dict[str, Any]

# Kinds of instrument, in the order of a list.
TOOLS = {
    "eye": later("By eye, ear and hand"),
    "scan tool": later("Scan tool"),
    "clamp": later("Clamp"),
    "volts": later("Meter on volts"),
    "ohms": later("Meter on ohms"),
    "scope": later("Scope"),
    "thermometer": later("Thermometer"),
    "": later("Instrument"),
}


def choice_form(exercise: Exercise, progress: ExerciseProgress) -> Part:
    """Offer the tests not yet done."""
    tests = tests_left(exercise, progress)
    if not tests:
        return text_part("choose", _("You have done every test there is."))
    label = _("Or choose from the list of tests ({count})").format(count=len(tests))
    return {
        "kind": "form",
        "key": "choose",
        "fold": {"name": "list", "label": label} if exercise.bench else None,
        "action": "test",
        "item": "",
        "legend": _("Choose the next test") if progress.tests else _("Choose a test"),
        "help": _(
            "Each test takes time. Choose the one that tells most for its minutes."
        ),
        "submit": _("Do this test"),
        "fields": [
            _test_field(exercise, progress, tests),
            # What is missing where no test is chosen; the options stand with each.
            {"kind": "radios", "name": "expected", "label": expected_label()},
        ],
    }


def expected_label() -> str:
    """Ask what is expected of a sound circuit."""
    return _("In a sound circuit it would read")


def tests_left(exercise: Exercise, progress: ExerciseProgress) -> list[DiagnosticTest]:
    """List the tests not yet done."""
    done = {test.item for test in progress.tests}
    return [test for test in exercise.tests if test.id not in done]


def _test_field(
    exercise: Exercise, progress: ExerciseProgress, tests: Sequence[DiagnosticTest]
) -> Part:
    opened = open_places(exercise, progress.tests)
    ending = shared_ending(test.title for test in tests)
    # The place where the student stands is unfolded: it costs no way.
    last = progress.tests[-1].item if progress.tests else tests[0].id
    here = _place_of(exercise.test(last))
    if here not in map(_place_of, tests):
        here = _place_of(tests[0])
    return {
        "kind": "tests",
        "name": "item",
        "label": _("Test"),
        "shared": [f"{SHARED_MARK} {ending}"] if ending else [],
        "expected": {"name": "expected", "label": expected_label()},
        "groups": [
            {
                "label": label,
                "note": note,
                "is_open": place == here,
                "kinds": _kinds(
                    exercise,
                    opened,
                    [test for test in tests if _place_of(test) == place],
                    ending,
                ),
            }
            for place, label, note in _places(exercise, opened, tests)
        ],
    }


def _place_of(test: DiagnosticTest) -> str:
    """Name the place where the instrument is put, or where one looks."""
    if not test.needs:
        return ""
    # What is made safe at the fuses first is looked at elsewhere.
    return test.needs[-1 if test.tool == "eye" else 0]


def _places(
    exercise: Exercise, opened: frozenset[str], tests: Sequence[DiagnosticTest]
) -> list[tuple[str, str, str]]:
    """List the places of some tests: id, name, and what it takes to get there."""
    wanted = {*map(_place_of, tests)}
    anywhere = [("", _("At the vehicle"), "")] if "" in wanted else []
    return anywhere + [
        (
            place.id,
            place.label,
            _("open")
            if place.id in opened
            else _("{minutes} min to reach").format(minutes=figure(place.minutes)),
        )
        for place in exercise.places
        if place.id in wanted
    ]


def _kinds(
    exercise: Exercise,
    opened: frozenset[str],
    tests: Sequence[DiagnosticTest],
    ending: str,
) -> list[Part]:
    """Sort the tests of a place by their instrument."""
    return [
        {
            "label": _(label),
            "options": [
                _option(exercise, opened, test, ending)
                for test in tests
                if test.tool == tool
            ],
        }
        for tool, label in TOOLS.items()
        if any(test.tool == tool for test in tests)
    ]


def _option(
    exercise: Exercise, opened: frozenset[str], test: DiagnosticTest, ending: str
) -> Part:
    to_reach, reading = minutes_of(exercise, test, opened)
    return {
        "value": test.id,
        "label": short_title(test.title, ending),
        "note": _("{minutes} min").format(minutes=figure(to_reach + reading)),
        "detail": test.how,
        "way": _way(exercise, test, opened),
        "before": test.before,
        "cautions": list(test.hazards),
        "expected": expected_options(test),
    }


def expected_options(test: DiagnosticTest) -> list[Part]:
    """Offer the outcomes of a test as what can be expected of it."""
    return [{"value": word, "label": _(word)} for word in test.outcomes]


def _way(exercise: Exercise, test: DiagnosticTest, opened: frozenset[str]) -> str:
    """Say what a test takes, and what of that is the way to its places."""
    to_reach, reading = minutes_of(exercise, test, opened)
    if not to_reach:
        return ""
    new = [p.label for p in exercise.places if p.id in {*test.needs} - opened]
    text = _("{minutes} min: {way} to reach {places}, {reading} to read")
    return text.format(
        minutes=figure(to_reach + reading),
        way=figure(to_reach),
        places=listed(new, _("and")),
        reading=figure(reading),
    )
