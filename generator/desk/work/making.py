"""A set made: class list, preview, drawing, check; and the lessons there are."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from answer_keys.keys.class_secret import ClassSecret, new_class_secret
from generator.desk.line import Line
from generator.desk.places import is_set_name, set_folder
from generator.desk.work.asked import Asked, AskedError, time_from
from generator.drawing.request import MAX_EXERCISES, MAX_STUDENTS, Causes, Mode
from generator.errors import RosterError
from generator.sets.roster import Columns
from generator.week.checking import check, keep_check
from generator.week.class_list import (
    ClassList,
    invented_list,
    look_at,
    read_class_list,
)
from generator.week.new_set import (
    NewSet,
    generate,
    minutes_of,
    preview,
    preview_workbook,
)
from generator.week.own_lessons import our_lessons
from generator.week.rubric import keep_rubric, rubric_of
from lessons.errors import LessonError
from lessons.loader import read_lesson
from workbook.texts import LANGUAGES, _


def _looked_at(asked: Asked, _: Line) -> dict[str, Any]:
    """Show the beginning of a class list, and which columns it seems to have."""
    with _named_as_dropped(asked):
        return asdict(look_at(asked.upload("upload")))


def _read(asked: Asked, _: Line) -> dict[str, int]:
    """Read a class list as it is meant now, so that its faults are told beside it."""
    listed = _class_list(asked)
    return {"students": len(listed.students) if listed else 0}


@contextmanager
def _named_as_dropped(asked: Asked) -> Iterator[None]:
    """Call a class list with faults as the instructor does, not as it is kept here."""
    try:
        yield
    except RosterError as error:
        kept = asked.upload("upload")
        name = Path(asked.text("upload_name", kept.name))
        raise RosterError(
            [
                replace(one, path=name) if one.path == kept else one
                for one in error.problems
            ]
        ) from error


def _lessons(asked: Asked, _: Line) -> list[dict[str, Any]]:
    """Give the lessons there are: ours, then the instructor's own that are sound."""
    own = [_card(str(folder), own=True) for folder in asked.own_lessons]
    ours = [_card(one.id, own=False) for one in our_lessons()]
    return [card for card in (*ours, *own) if card is not None]


def _card(name: str, *, own: bool) -> dict[str, Any] | None:
    try:
        lesson = read_lesson(name).lesson
    except LessonError:
        # Its own screen says what is wrong.
        return None
    return {
        "id": name,
        "number": lesson.number,
        "title": _(lesson.title),
        "aims": [_(aim) for aim in lesson.aims],
        "minutes": minutes_of(lesson.kinds),
        "own": own,
    }


def _class_list(asked: Asked) -> ClassList | None:
    if "upload" in asked:
        columns = Columns(**asked.table("columns")) if "columns" in asked else None
        class_id = asked.text("class_id") or None
        with _named_as_dropped(asked):
            return read_class_list(asked.upload("upload"), class_id, columns)
    if "invented" in asked:
        return invented_list(asked.number("invented", 1, MAX_STUDENTS))
    return None


def _new_set(asked: Asked) -> NewSet:
    name = asked.text("name")
    if not is_set_name(name):
        raise AskedError(
            _(
                "The set needs a name of letters, digits, blanks, stops and "
                "hyphens, such as week 3. It is the name of its folder."
            )
        )
    language = asked.text("set_language")
    if language not in LANGUAGES:
        raise AskedError(_("Choose a language of the list for the workbooks."))
    after = asked.text("after")
    return NewSet(
        out=asked.sets / name,
        lessons=asked.texts("lessons"),
        class_list=_class_list(asked),
        exercises=asked.number("exercises", 1, MAX_EXERCISES),
        mode=asked.one_of("mode", Mode),
        causes=asked.one_of("causes", Causes),
        language=language,
        after=set_folder(asked.sets, after) if after else None,
    )


def _previewed(asked: Asked, line: Line) -> dict[str, Any]:
    """Tell what would be drawn, and lay the first student's workbook out to try."""
    new = _new_set(asked)
    if new.out.exists():
        raise AskedError(
            _("There is a set called {name} already. Take another.").format(
                name=new.out.name
            )
        )
    secret = _kept_secret(asked) or new_class_secret()
    drawn = preview(new, secret, asked.passphrase)
    # Said before it is drawn, too: here the instructor may have stopped it.
    line.progress("drawing", 0, 1)
    workbook = preview_workbook(new, secret, asked.passphrase)
    line.progress("drawing", 1, 1)
    listed = new.class_list
    return {
        "text": drawn.text,
        "same": drawn.is_same_for_all,
        "students": [asdict(one) for one in listed.students] if listed else [],
        "workbook": asked.lay_out(workbook),
        "kept": secret.value.hex(),
    }


def _kept_secret(asked: Asked) -> ClassSecret | None:
    """Return the secret of the preview before, which no page has seen."""
    return ClassSecret(value=bytes.fromhex(asked.kept)) if asked.kept else None


def _generated(asked: Asked, line: Line) -> dict[str, Any]:
    """Draw and write a set, as it was previewed."""
    secret, deadline = _kept_secret(asked), time_from(asked.text("deadline"))
    made = generate(_new_set(asked), asked.passphrase, line.progress, secret)
    if deadline is not None:
        rubric = rubric_of(made.class_set)
        policy = replace(rubric.policy, deadline=deadline)
        keep_rubric(made.class_set, replace(rubric, policy=policy))
    return {"set": made.class_set.folder.name, "text": made.drawn.text}


def _checked(asked: Asked, line: Line) -> dict[str, Any]:
    """Check a set, and note beside it what was found."""
    opened = asked.opened()
    kept = keep_check(opened.class_set, check(opened, line.progress))
    return {"sound": kept.is_sound, "faults": list(kept.faults)}


WORK: Mapping[str, Callable[[Asked, Line], Any]] = {
    "look-at-list": _looked_at,
    "read-list": _read,
    "lessons": _lessons,
    "preview": _previewed,
    "generate": _generated,
    "check": _checked,
}
