"""Describe what stands beside the steps: diagram, sheet, places, log; pure."""

from __future__ import annotations

from typing import Any

from workbook.judging.planned import minutes_of, open_places
from workbook.record.circuit import Circuit, Row
from workbook.record.payload import Exercise
from workbook.record.progress import ExerciseProgress
from workbook.texts import _, figure
from workbook.views.bench_view import moves
from workbook.views.choice_view import tests_left
from workbook.views.finding_view import circuit_part, stated_circuit
from workbook.views.given_view import title_of

Part = dict[str, Any]


def drawn_circuit(exercise: Exercise) -> Part:
    """Describe the diagram, which stays as it is, and how each test is shown on it."""
    circuit = exercise.circuit
    if circuit is None:
        return {}
    named = {section.id: section.label for section in exercise.sections}
    return {
        "svg": circuit.svg,
        "alt": circuit.alt,
        "spots": [
            {
                "id": spot.id,
                "label": named.get(spot.id, spot.label),
                "frame": list(spot.frame),
                "sign": list(spot.sign),
                "flags": [[f.x, f.y, f.width, f.anchor] for f in spot.flags],
            }
            for spot in circuit.spots
        ],
        "signs": {
            test.id: [[sign.kind, sign.at] for sign in test.signs]
            for test in exercise.tests
        },
    }


def beside(
    exercise: Exercise, progress: ExerciseProgress, *, is_choosing: bool
) -> Part:
    """Describe what is marked on the diagram, and the panels with it.

    Parameters
    ----------
    exercise : Exercise
        What is asked.
    progress : ExerciseProgress
        What is recorded.
    is_choosing : bool
        Whether the next test is chosen now, also by pointing at the diagram.
    """
    return {
        "readings": _readings(exercise, progress),
        "states": _states(exercise, progress),
        "shown": _shown(exercise, progress),
        "offers": _offers(exercise, progress) if is_choosing else {},
        "panels": _panels(exercise, progress),
    }


def _shown(exercise: Exercise, progress: ExerciseProgress) -> list[list[str]]:
    """List the signs of the test whose reading is looked at."""
    if progress.finding_due is None:
        return []
    signs = exercise.test(progress.finding_due).signs
    return [[sign.kind, sign.at] for sign in signs]


def _readings(exercise: Exercise, progress: ExerciseProgress) -> list[Part]:
    """List each reading with its number in the log and its spot; a scope's as volts."""
    peak = _("Peak to peak {volts}").format(volts="")
    return [
        {
            "number": number,
            "at": test.at,
            # Behind a semicolon stands how the fuse looked: the diagram has no room
            # for that.
            "text": test.display.partition(";")[0].removeprefix(peak),
        }
        for number, test in enumerate(
            (exercise.test(done.item) for done in progress.tests), start=1
        )
        if test.display
    ]


def _states(exercise: Exercise, progress: ExerciseProgress) -> list[Part]:
    """Say which sections the student has cleared, and which are suspect."""
    now = stated_circuit(exercise, progress)
    states = {} if now is None else now.states
    return [{"at": at, "state": state} for at, state in states.items()]


def _offers(exercise: Exercise, progress: ExerciseProgress) -> dict[str, Part]:
    """List at each spot what can be set up there, and the tests of the list."""
    own, listed = moves(exercise, progress), _tests_at(exercise, progress)
    return {
        spot: {"moves": own.get(spot, []), "tests": listed.get(spot, [])}
        for spot in {**own, **listed}
    }


def _tests_at(exercise: Exercise, progress: ExerciseProgress) -> dict[str, list[Part]]:
    """List the tests at each spot, with the minutes as the places stand."""
    opened = open_places(exercise, progress.tests)
    offers: dict[str, list[Part]] = {}
    listed = () if exercise.is_unlisted else tests_left(exercise, progress)
    for test in listed:
        minutes = sum(minutes_of(exercise, test, opened))
        offer = {
            "test": test.id,
            "label": test.title,
            "note": _("{minutes} min").format(minutes=figure(minutes)),
        }
        touched = (sign.at for sign in test.signs if sign.kind in _ON_A_SPOT)
        for spot in dict.fromkeys((test.at, *touched)):
            offers.setdefault(spot, []).append(offer)
    return offers


# Signs of something that is put on a spot, not of what is switched elsewhere; and the
# battery's minus, on which most probes end, leads to no test.
_ON_A_SPOT = (
    *("lead", "clamp", "plus", "scope", "thermometer"),
    *("eye", "hand", "felt", "jumper", "past", "new"),
)


def _panels(exercise: Exercise, progress: ExerciseProgress) -> list[Part]:
    circuit = exercise.circuit
    panels = [*([] if circuit is None else [_sheet(circuit)])]
    if exercise.places:
        panels.append(_where(exercise, progress))
    if exercise.tests:
        panels.append(_log_panel(exercise, progress))
    if circuit is not None:
        panels.append(_in_words(circuit))
    return panels


def _sheet(circuit: Circuit) -> Part:
    head = (_("quantity"), _("value"), _("tolerance"))
    part = _table("sheet", head, circuit.sheet)
    return _panel("sheet", _("Specification"), _("Sheet"), part)


def _in_words(circuit: Circuit) -> Part:
    head = (_("part"), _("from"), _("to"), _("note"))
    part = _table("words", head, circuit.parts)
    return _panel("words", _("The circuit in words"), "", part)


def _panel(key: str, title: str, tab: str, *parts: Part | None) -> Part:
    """Describe a panel; without a short name for its tab it stands below another."""
    shown = [part for part in parts if part is not None]
    return {"key": key, "title": title, "tab": tab, "parts": shown}


def _table(key: str, head: Row, rows: tuple[Row, ...]) -> Part:
    return {
        "kind": "facts",
        "key": key,
        "columns": list(head),
        "rows": [list(row) for row in rows],
    }


def _where(exercise: Exercise, progress: ExerciseProgress) -> Part:
    """Tell where each place is, and whether it is open."""
    opened = open_places(exercise, progress.tests)
    places = [
        {
            "label": place.label,
            "note": _("open")
            if place.id in opened
            else _("{minutes} min").format(minutes=figure(place.minutes)),
            "text": f"{place.where}. {place.risk}".strip(),
            "is_open": place.id in opened,
        }
        for place in exercise.places
    ]
    part = {"kind": "places", "key": "places", "places": places}
    return _panel("places", _("Where things are"), _("Places"), part)


def _log_panel(exercise: Exercise, progress: ExerciseProgress) -> Part:
    empty = {"kind": "text", "key": "empty", "text": _("No test done yet.")}
    log = _log(exercise, progress) if progress.tests else empty
    return _panel(
        "log", _("Tests done"), _("Readings"), log, circuit_part(exercise, progress)
    )


def _log(exercise: Exercise, progress: ExerciseProgress) -> Part:
    """List the tests done, with their minutes."""
    tests = [exercise.test(done.item) for done in progress.tests]
    took = [
        sum(minutes_of(exercise, test, open_places(exercise, progress.tests[:place])))
        for place, test in enumerate(tests)
    ]
    rows = [
        [
            f"{place + 1}. {title_of(test, is_given=place < progress.given_tests)}",
            _("{minutes} min").format(minutes=figure(took[place])),
            _(done.expected),
            test.display,
            _(done.outcome) if done.outcome else "…",
        ]
        for place, (test, done) in enumerate(zip(tests, progress.tests, strict=True))
    ]
    return {
        "kind": "table",
        "key": "log",
        "caption": _("Readings"),
        "columns": [
            _("Test"),
            _("Time"),
            _("Expected"),
            _("Reading"),
            _("Finding"),
        ],
        "rows": rows,
        "foot": _("Time used: {minutes} min").format(minutes=figure(sum(took))),
    }
