"""What the page asks for, taken apart: it is checked here, and nowhere trusted."""

from __future__ import annotations

import re
import secrets
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, get_args

from generator.errors import WritingError
from generator.week.opened import OpenedSet, opened_set
from workbook.texts import _

_UPLOAD = re.compile(r"[0-9a-f]{32}(\.[a-z0-9]{1,8})?")


class AskedError(WritingError):
    """The page asks for something that there is not, or that makes no sense."""


def time_from(text: str) -> datetime | None:
    """Read a time of this machine, as a field of the page has it; None where empty."""
    if not text:
        return None
    try:
        return datetime.fromisoformat(text).astimezone()
    except ValueError:
        raise AskedError(_("The deadline needs a day and a time.")) from None


class Asked:
    """One request of the page.

    Attributes
    ----------
    given : mapping
        All of it, as it came.
    language : str
        The instructor's, for what is said; a set has its own.
    passphrase : str or None
        Of the set; kept nowhere.
    """

    def __init__(self, given: Mapping[str, Any]) -> None:
        self.given = given
        self.language: str = str(given.get("language", "en"))
        self.passphrase: str | None = given.get("passphrase") or None
        self.kept: Any = given.get("kept")

    def __contains__(self, name: str) -> bool:
        return self.given.get(name) not in (None, "")

    def text(self, name: str, usual: str = "") -> str:
        """Return a text of one line."""
        value = self.given.get(name, usual)
        if not isinstance(value, str):
            raise AskedError(
                _("{name}: a text is needed. Fill it in.").format(name=name)
            )
        return value.strip()

    def one_of(self, name: str, kind: Any) -> Any:  # noqa: ANN401 - of that kind
        """Return one of the texts of a `typing.Literal`."""
        value = self.text(name)
        if value not in get_args(kind):
            raise AskedError(
                _("{name}: choose one of {known}.").format(
                    name=name, known=", ".join(get_args(kind))
                )
            )
        return value

    def number(self, name: str, least: int, most: int) -> int:
        """Return a whole number within limits."""
        value = self.given.get(name)
        if isinstance(value, bool) or not isinstance(value, int):
            raise AskedError(
                _("{name}: a whole number is needed. Fill it in.").format(name=name)
            )
        if not least <= value <= most:
            raise AskedError(
                _("{name}: {value} is not from {least} to {most}.").format(
                    name=name, value=value, least=least, most=most
                )
            )
        return value

    def texts(self, name: str) -> tuple[str, ...]:
        """Return a list of texts."""
        value = self.given.get(name, [])
        if not isinstance(value, list) or not all(isinstance(it, str) for it in value):
            raise AskedError(_("{name}: a list of texts is needed.").format(name=name))
        return tuple(value)

    def table(self, name: str) -> Mapping[str, Any]:
        """Return what was filled in by name."""
        value = self.given.get(name, {})
        if not isinstance(value, dict):
            raise AskedError(_("{name}: a table is needed.").format(name=name))
        return value

    def rows(self, name: str) -> list[dict[str, Any]]:
        """Return rows that were filled in."""
        value = self.given.get(name, [])
        if not isinstance(value, list) or not all(isinstance(it, dict) for it in value):
            raise AskedError(_("{name}: rows are needed.").format(name=name))
        return value

    def amount(self, name: str) -> float:
        """Return a number."""
        value = self.given.get(name)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise AskedError(
                _("{name}: a number is needed. Fill it in.").format(name=name)
            )
        return float(value)

    def is_ticked(self, name: str) -> bool:
        """Whether a box is ticked."""
        return self.given.get(name) is True

    def upload(self, name: str) -> Path:
        """Return a file that was dropped on the page, by the id that it was given."""
        value = self.text(name)
        path = Path(self.given["uploads"]) / value
        if not _UPLOAD.fullmatch(value) or not path.is_file():
            raise AskedError(_("The file is not here any more. Drop it again."))
        return path

    @property
    def folder(self) -> Path:
        """The set that is worked on."""
        if not self.given["folder"]:
            raise AskedError(_("No set is named. Choose one from the list."))
        return Path(self.given["folder"])

    @property
    def sets(self) -> Path:
        """The folder of all sets."""
        return Path(self.given["sets"])

    @property
    def own_lessons(self) -> list[Path]:
        """Folders of the lessons of the instructor's own, beside the sets."""
        folder = self.sets / "lessons"
        return sorted(path.parent for path in folder.glob("*/lesson.toml"))

    def lay_out(self, workbook: str) -> str:
        """Lay a workbook out to be tried; gives its path in what Notebook shows."""
        folder = Path(self.given["previews"]) / secrets.token_hex(4)
        folder.mkdir()
        (folder / "preview.ipynb").write_text(workbook, encoding="utf-8")
        return f"{folder.name}/preview.ipynb"

    def opened(self) -> OpenedSet:
        """Open the set that is worked on; raises as `opened_set` does."""
        return opened_set(self.folder, self.passphrase)

    def download(self, name: str, data: bytes) -> dict[str, str]:
        """Keep a file for the instructor; gives what the page asks for it by."""
        mark = secrets.token_hex(8)
        folder = Path(self.given["downloads"]) / mark
        folder.mkdir(mode=0o700)
        (folder / name).write_bytes(data)
        return {"download": mark, "name": name}
