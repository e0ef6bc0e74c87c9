"""Tell what a set-up takes and what can be expected of it, before it is measured."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from workbook.errors import RefusedError
from workbook.judging.planned import minutes_of, open_places
from workbook.judging.statements import listed
from workbook.measuring.minutes import changed_parts, minutes_after
from workbook.measuring.network import GROUND
from workbook.measuring.set_up import state_after
from workbook.record.bench import Bench
from workbook.record.payload import DiagnosticTest, Exercise
from workbook.record.progress import ExerciseProgress
from workbook.record.set_up import SetUp
from workbook.texts import _, figure, later
from workbook.views.choice_view import expected_options

Part = dict[str, Any]

_MISSING = {
    "plus": later("Choose where the plus lead goes."),
    "minus": later("Choose where the minus lead goes."),
    "probe": later("Choose where the probe goes. Its clip is on the battery's minus."),
    "wire": later("Choose what the clamp is closed around."),
    "scale": later("Choose the scale of the clamp."),
}
_NEEDED = {"clamp": ("wire", "scale"), "scope": ("plus",)}
_LEADS = ("plus", "minus")
_PULLED = {
    "in": later("put {part} back"),
    "out": later("pull {part}"),
    "lead": later("put a fused lead in place of {part}"),
    "jumper": later("put a fused jumper in place of {part}"),
}
_PLUGS = {"in": later("plug {part} in"), "out": later("unplug {part}")}


def whole(set_up: SetUp) -> SetUp:
    """Take a set-up in which all is chosen; the clip of a scope is on ground.

    Raises
    ------
    RefusedError
        With what is to be chosen next.
    """
    is_scope = set_up.instrument == "scope"
    for name in _NEEDED.get(set_up.instrument, _LEADS):
        if not getattr(set_up, name):
            raise RefusedError(_(_MISSING["probe" if is_scope else name]))
    return replace(set_up, minus=GROUND) if is_scope else set_up


def set_up_told(
    exercise: Exercise,
    progress: ExerciseProgress,
    item: str,
    set_up: SetUp | None = None,
) -> Part:
    """Tell what a set-up is called, takes, and can be expected to read.

    Parameters
    ----------
    exercise : Exercise
        With the set-up among its tests.
    item : str
        What a journal calls it.
    set_up : SetUp or None
        None where it is something to look at or to read out.

    Raises
    ------
    RefusedError
        Where it was read before: it would read the same again.
    """
    if any(done.item == item for done in progress.tests):
        text = _("You have this reading already: look it up among your readings.")
        raise RefusedError(text)
    test = exercise.test(item)
    return {
        "item": item,
        "title": test.title,
        "minutes": _minutes(exercise, progress, test, set_up),
        "cautions": list(test.hazards),
        "expected": expected_options(test),
    }


def _minutes(
    exercise: Exercise,
    progress: ExerciseProgress,
    test: DiagnosticTest,
    set_up: SetUp | None,
) -> str:
    """Say what a set-up takes, and for what."""
    opened = open_places(exercise, progress.tests)
    to_reach, doing = minutes_of(exercise, test, opened)
    told = [_("{minutes} min").format(minutes=figure(to_reach + doing))]
    what = list[str]()
    if to_reach:
        new = [p.label for p in exercise.places if p.id in {*test.needs} - opened]
        text = _("{way} to reach {places}")
        what.append(text.format(way=figure(to_reach), places=listed(new, _("and"))))
    if test.is_own and set_up is not None and exercise.bench is not None:
        items = [done.item for done in progress.tests]
        changing = minutes_after(items, set_up, exercise.bench).changing
        if changing:
            done = listed([*_changes(exercise.bench, items, set_up)], _("and"))
            text = _("{minutes} to {done}")
            what.append(text.format(minutes=figure(changing), done=done))
        # Leads and reading alone: what is changed was told just before.
        doing -= changing
    what.append(_("{reading} to read").format(reading=figure(doing)))
    return ": ".join([*told, "; ".join(what)])


def _changes(bench: Bench, items: list[str], set_up: SetUp) -> Iterator[str]:
    """Say what is pulled, plugged and put back for a set-up."""
    before = state_after(items, bench)
    plugs = ("load_connector", "module", "neighbour")
    for part in changed_parts(before, set_up, bench):
        words = _PLUGS if part.id in plugs else _PULLED
        yield _(words[getattr(set_up, part.id)]).format(part=part.label)
