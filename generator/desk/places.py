"""Where the desk finds sets, and where two of its starts find each other."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import asdict, dataclass
from hashlib import sha256
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from urllib.parse import urlsplit

from platformdirs import user_documents_path, user_state_path

from answer_keys.written_files import write_private
from generator.errors import ClassSetError
from generator.sets.roster import is_reserved
from workbook.texts import _

_NAME = re.compile(r"[^\W_](?:[\w .+-]{0,58}[\w+-])?")
_SECONDS = 2.0  # for another desk to answer


def usual_folder() -> Path:
    """Return the folder of sets of an instructor who names none."""
    return user_documents_path() / "Clampbook"


def is_set_name(name: str) -> bool:
    """Whether a set may be called so on every system; never a path.

    Examples
    --------
    >>> is_set_name("week 3"), is_set_name("../week"), is_set_name(".hidden")
    (True, False, False)
    """
    return _NAME.fullmatch(name) is not None and not is_reserved(name)


def set_folder(sets: Path, name: str) -> Path:
    """Return the folder of a set by its name; raises `ClassSetError` for any other."""
    folder = sets / name
    if not is_set_name(name) or not (folder / "set.toml").is_file():
        raise ClassSetError(
            folder, _("is no set of this desk. Look at the list of sets.")
        )
    return folder


def set_names(sets: Path) -> list[str]:
    """Return the names of all sets, the one made last first."""
    return [path.name for path in sorted(_sets(sets), key=_made_at, reverse=True)]


def _sets(sets: Path) -> Iterator[Path]:
    if sets.is_dir():
        for path in sets.iterdir():
            if is_set_name(path.name) and (path / "set.toml").is_file():
                yield path


def _made_at(folder: Path) -> float:
    return (folder / "set.toml").stat().st_mtime


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """A desk that runs: where its page is, and what opens it."""

    address: str
    token: str

    @property
    def page(self) -> str:
        """The whole address for the instructor's own browser."""
        return f"{self.address}desk?token={self.token}"


def running_file(sets: Path) -> Path:
    """Return where the desk of a folder notes that it runs."""
    # By the folder, because two desks may run, of two folders.
    mark = sha256(str(sets.resolve()).encode()).hexdigest()[:16]
    return user_state_path("clampbook") / f"desk-{mark}.json"


def note_running(sets: Path, running: Running) -> None:
    """Note that a desk runs, for its owner alone to read."""
    write_private(running_file(sets), json.dumps(asdict(running)).encode())


def forget_running(sets: Path, running: Running) -> None:
    """Take the note away, unless another desk has written it since."""
    with suppress(OSError):
        if _noted(sets) == running:
            running_file(sets).unlink()


def found_running(sets: Path) -> Running | None:
    """Return the desk that serves a folder already and answers; else None."""
    running = _noted(sets)
    return running if running is not None and _answers(running) else None


def _noted(sets: Path) -> Running | None:
    try:
        return Running(**json.loads(running_file(sets).read_bytes()))
    except (OSError, ValueError, TypeError):
        return None


def _answers(running: Running) -> bool:
    place = urlsplit(running.address)
    connection = HTTPConnection(place.hostname or "", place.port, timeout=_SECONDS)
    try:
        connection.request(
            "GET",
            f"{place.path}desk/api/alive",
            headers={"Authorization": f"token {running.token}"},
        )
        return connection.getresponse().status == 200
    except (OSError, HTTPException):
        return False
    finally:
        connection.close()
