"""Class sets for the users of a school's hub."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.hand_in import read_hand_in
from answer_keys.headway import Progress
from generator.errors import ClassSetError
from generator.serving.hub import HubSet
from generator.sets.class_set import ClassSet
from generator.week.collecting import put_in
from generator.week.opened import OpenedSet
from generator.week.website import site
from workbook.record.journal import Owner, hand_in_name
from workbook.texts import _

MAX_HAND_INS = 100
"""Of one student: every file is kept and read again, so no script fills the disk."""


def hub_set(opened: OpenedSet, tell: Progress = lambda *_: None) -> HubSet:
    """Write the site of a set, and tell who of a hub's users gets what of it.

    A user is the student whose ``login`` on the class list is the user's name, or whose
    id is.

    Raises
    ------
    SiteError
        Where the site cannot be written.
    ClassSetError
        Where the set is an examination.
    """
    class_set = opened.class_set
    request = class_set.request
    if request.mode == "examination":
        raise ClassSetError(
            class_set.folder,
            "is an examination, whose readings a hub does not give. Serve it from "
            "your machine.",
        )
    written = site(opened, None, tell)
    links = {link.student: link for link in written.links}
    return HubSet(
        id=class_set.set_id,
        title=class_set.folder.resolve().name,
        language=request.language,
        site=written.folder,
        links={
            (student.login or student.id).casefold(): links[student.id]
            for student in request.students
        },
        take=partial(_take, class_set),
        taken=partial(_taken, class_set),
    )


def _take(class_set: ClassSet, student: str, data: bytes) -> None:
    """Keep what a student hands in, if it is their own work of this set."""
    try:
        read = read_hand_in("", data)
    except RefusedError as error:
        raise RefusedError(
            _(
                "This is not the file that “Download my hand-in” saves. Save it in "
                "your workbook, and hand in that file."
            )
        ) from error
    if read.set_id != class_set.set_id:
        raise RefusedError(_("This file is of another workbook."))
    if read.student != student:
        raise RefusedError(_("This file is of another student."))
    if len(_files_of(class_set, student)) >= MAX_HAND_INS:
        told = _(
            "You have handed in {count} times already, so this file was not taken. "
            "Ask your instructor."
        )
        raise RefusedError(told.format(count=MAX_HAND_INS))
    owner = Owner(set_id=read.set_id, student=student, edition=read.edition)
    put_in(class_set, f"{student}/{hand_in_name(owner)}", data)


def _files_of(class_set: ClassSet, student: str) -> list[Path]:
    return list((class_set.handed_in / student).glob("*.jsonl"))


def _taken(class_set: ClassSet, student: str) -> list[datetime]:
    """When a student has handed in by the hub, to the minute."""
    files = _files_of(class_set, student)
    times = sorted(path.stat().st_mtime for path in files)
    moments = (datetime.fromtimestamp(time, UTC).astimezone() for time in times)
    return [one.replace(second=0, microsecond=0, tzinfo=None) for one in moments]
