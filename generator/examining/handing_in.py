"""Hands in what the room of an examination has written, for grading to read."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from answer_keys.written_files import write_private
from workbook.record.journal import Owner, hand_in_bytes, hand_in_name
from workbook.record.journal_reading import read_journals


def hand_in_record(record: Path, owners: Iterable[Owner], to: Path) -> tuple[Path, ...]:
    """Write a hand-in for each student of whom the room has something.

    The same record gives the same bytes, dated as its newest file is. Where the room
    still runs, a later call writes the rest.

    Parameters
    ----------
    record : pathlib.Path
        Folder of the room's record.
    to : pathlib.Path
        Folder to write; made where it is missing.
    """
    written = list[Path]()
    for owner in owners:
        journals = read_journals(record, owner)
        if not journals.files:
            continue
        to.mkdir(parents=True, exist_ok=True)
        path = to / hand_in_name(owner)
        write_private(path, hand_in_bytes(owner, "examination", journals.lines))
        newest = max((record / file.name).stat().st_mtime for file in journals.files)
        os.utime(path, (newest, newest))
        written.append(path)
    return tuple(written)
