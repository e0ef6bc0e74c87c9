"""An examination: its room, opened for a set."""

from __future__ import annotations

from pathlib import Path

from answer_keys.hand_ins.listing import ROOM
from generator.errors import RoomError
from generator.examining.handing_in import hand_in_record
from generator.examining.room import Room
from generator.examining.seal import changed_since_seal
from generator.site.students import private_links
from generator.week.opened import OpenedSet
from workbook.record.journal import Owner


def room_of(opened: OpenedSet) -> Room:
    """Open the room of an examination; only one may be open of a set.

    Raises
    ------
    RoomError
        Where the set is no examination, its record was changed, or its room is open.
    """
    links = private_links(opened.class_set, opened.secret)
    codes = {link.code: (link.student, link.name) for link in links}
    folder = opened.class_set.examination
    return Room(folder, codes, opened.secret, opened.key)


def hand_in_examination(opened: OpenedSet) -> tuple[Path, ...]:
    """Put what the room of an examination has written among what was handed in.

    Of any other set there is none.

    Raises
    ------
    RoomError
        Where the record was changed after it was sealed.
    """
    class_set, key = opened.class_set, opened.key
    if key.mode != "examination":
        return ()
    # None, where nothing is sealed yet, as well as nothing changed lets it through.
    if changed := changed_since_seal(class_set.examination, opened.secret):
        raise RoomError(
            class_set.examination,
            f"was changed after it was sealed ({', '.join(changed)}): put back the "
            "files as they were",
        )
    owners = (
        Owner(set_id=key.set_id, student=student.id, edition=key.edition)
        for student in class_set.request.students
    )
    return hand_in_record(class_set.examination, owners, class_set.handed_in / ROOM)
