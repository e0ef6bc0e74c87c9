"""What is done of a school already, as its folder tells, and from which secret.

::

    SCHOOL/
      CLASS/                a class set each
      for-instructor/       never give this out: the school secret, what was graded
      school-report.html    the whole school on one page
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from msgspec import DecodeError
from msgspec import json as fields

from answer_keys.hand_ins.listing import ROOM, listing_of
from answer_keys.keys.class_secret import (
    ClassSecret,
    new_class_secret,
    read_class_secret,
    write_class_secret,
)
from answer_keys.marking.marked import SOFTWARE
from answer_keys.written_files import new_private_folder, write_private, write_text
from generator.classes.figures import Figures
from generator.classes.plan import OWN_FOLDER, PlannedClass
from generator.drawing.stream import Stream
from generator.sets.class_set import ClassSet

_BYTES = 32


@dataclass(frozen=True, slots=True, kw_only=True)
class Access:
    """What opens secrets, and where marks are kept, as for one class."""

    passphrase: str | None = None
    gradebook: str | None = None


def school_secret(folder: Path, passphrase: str | None = None) -> ClassSecret:
    """Return the secret that all class secrets of a school come from; new if need be.

    Raises
    ------
    SecretError
        Where it cannot be opened.
    """
    file = folder / OWN_FOLDER / "school-secret.txt"
    if not file.exists():
        new_private_folder(file.parent)
        # Whatever becomes of the folder, the secret stays out of a repository.
        write_text(file.parent / ".gitignore", "*\n")
        write_class_secret(file, new_class_secret(), passphrase)
    return read_class_secret(file, passphrase)


def class_secret(school: ClassSecret, planned: PlannedClass) -> ClassSecret:
    """Draw the secret of a class: another one for whatever else is asked for it.

    So a set that is drawn once more after a stop is the same, and one that the plan
    has changed has another name. It tells nothing of those of other classes.
    """
    request = planned.request
    # All that is drawn hangs on; names may be mended, and stand in none of it.
    asked = [
        *(request.mode, request.causes, request.exercises, request.lessons),
        *(request.languages, request.method, [one.id for one in request.students]),
        asdict(request.observed),
    ]
    text = json.dumps(asked, sort_keys=True)
    number = Stream(school.value, "class", planned.name, text).integer(1 << 8 * _BYTES)
    return ClassSecret(value=number.to_bytes(_BYTES, "big"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A grading of a class, as it is remembered.

    Attributes
    ----------
    came : str
        What it was made from, as `came_of` tells.
    report_ns : int
        When the class report was written [ns]: whoever grades a class by itself
        writes a new one.
    """

    came: str
    report_ns: int
    figures: Figures


def came_of(class_set: ClassSet, gradebook: str | None = None) -> str:
    """Give a fingerprint of all that marks of a class are made from; empty for nothing.

    Files count by name, size and time.
    """
    found = _files(class_set.handed_in)
    if class_set.request.mode == "examination":
        # Grading writes there what the room has, of which the journals alone count:
        # what lies beside them changes as often as the room is opened.
        found = [one for one in found if not one[0].startswith(f"{ROOM}/")]
        room = _files(class_set.examination)
        found += [one for one in room if one[0].startswith("journal-")]
    if not found:
        return ""
    rubric = hashlib.sha256(class_set.rubric_file.read_bytes()).hexdigest()
    told = json.dumps([found, rubric, SOFTWARE, gradebook])
    return hashlib.sha256(told.encode()).hexdigest()


def _files(folder: Path) -> list[tuple[str, int, int]]:
    if not folder.is_dir():
        return []
    listing = listing_of(folder)
    return [_file(folder, name) for name in sorted((*listing.files, *listing.left))]


def _file(folder: Path, name: str) -> tuple[str, int, int]:
    status = (folder / name).lstat()
    text = name.encode("utf-8", "backslashreplace").decode()
    return text, status.st_size, status.st_mtime_ns


def note_of(folder: Path, name: str) -> Note | None:
    """Read what is remembered of a class; None for nothing, or what is no such note."""
    try:
        return fields.decode(_note_file(folder, name).read_bytes(), type=Note)
    except (OSError, DecodeError):
        return None


def keep_note(folder: Path, name: str, note: Note) -> None:
    """Remember a grading."""
    write_private(_note_file(folder, name), fields.encode(note))


def is_told(folder: Path, names: Sequence[str], page: Path) -> bool:
    """Whether a page on these classes was made from what they were graded from last."""
    noted = _told_file(folder)
    is_there = noted.is_file() and page.is_file()
    return is_there and noted.read_text("utf-8") == _made_from(folder, names, page)


def keep_told(folder: Path, names: Sequence[str], page: Path) -> None:
    """Remember what a page on these classes was made from."""
    write_private(_told_file(folder), _made_from(folder, names, page).encode())


def _made_from(folder: Path, names: Sequence[str], page: Path) -> str:
    notes = [(name, note_of(folder, name)) for name in names]
    gradings = [(name, one and (one.came, one.report_ns)) for name, one in notes]
    told = json.dumps([gradings, str(page.resolve()), page.stat().st_mtime_ns])
    return hashlib.sha256(told.encode()).hexdigest()


def report_ns(class_set: ClassSet) -> int:
    """When the report of a class was written [ns]; 0 where there is none."""
    report = class_set.results / "class-report.html"
    return report.stat().st_mtime_ns if report.is_file() else 0


def _told_file(folder: Path) -> Path:
    return folder / OWN_FOLDER / "training.txt"


def _note_file(folder: Path, name: str) -> Path:
    return folder / OWN_FOLDER / "graded" / f"{name}.json"
