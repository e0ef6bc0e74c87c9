"""An examination: its room, opened for a set."""

from __future__ import annotations

from generator.examining.room import Room
from generator.site.students import private_links
from generator.week.opened import OpenedSet


def room_of(opened: OpenedSet) -> Room:
    """Open the room of an examination; only one may be open of a set.

    Raises
    ------
    RoomError
        Where the set is no examination, or its record was changed.
    """
    links = private_links(opened.class_set, opened.secret)
    codes = {link.code: (link.student, link.name) for link in links}
    folder = opened.class_set.examination
    return Room(folder, codes, opened.secret, opened.key)
