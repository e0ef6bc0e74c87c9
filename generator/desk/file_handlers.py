"""Files in and out: what is dropped on the page, and what the page gives and shows."""

from __future__ import annotations

import re
import secrets
from pathlib import Path
from typing import Any, BinaryIO
from urllib.parse import quote

from jupyter_server.base.handlers import JupyterHandler
from tornado import web

from answer_keys.hand_ins.limits import MAX_ZIP_BYTES
from generator.desk.handlers import DeskHandler
from generator.desk.places import set_folder
from workbook.texts import _, grouped

_TYPES = {
    ".csv": "text/csv; charset=utf-8",
    ".html": "text/html; charset=utf-8",
    ".pdf": "application/pdf",
}
# What a set's folder shows on the page: never class secret, key or gradebook.
_SHOWN = re.compile(
    r"results/(class-report\.html|sheets/sheet-[\w.@+-]+\.(html|pdf))"
    r"|for-students/[\w.@+-]+/handout\.(html|pdf)"
    r"|for-instructor/(reading-slips|teachers-guide)(-\d+)?\.(html|pdf)"
)
_ENDING = re.compile(r"\.[a-z0-9]{1,8}\Z")
# Pages of ours without scripts; where one had some, they would not run.
_PAGE_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; "
    "frame-ancestors 'self'; sandbox allow-popups allow-downloads allow-same-origin"
)


@web.stream_request_body
class UploadHandler(DeskHandler):
    """One dropped file, written as it comes; no longer than what a reader takes."""

    _path: Path | None = None
    _file: BinaryIO | None = None
    _size = 0

    def data_received(self, chunk: bytes) -> None:
        """Take a part of the file; who asks was looked at before."""
        self._size += len(chunk)
        if self._size <= MAX_ZIP_BYTES:
            self._opened().write(chunk)

    @web.authenticated
    def post(self) -> None:
        """Give the id that work names the file by."""
        self._opened().close()
        if self._path is None or self._size > MAX_ZIP_BYTES:
            self._drop()
            raise web.HTTPError(
                413,
                _("The file is larger than {most} bytes.").format(
                    most=grouped(MAX_ZIP_BYTES)
                ),
            )
        self.answer({"upload": self._path.name, "bytes": self._size})

    def on_connection_close(self) -> None:
        """Keep nothing of a file that did not come whole."""
        self._drop()

    def _opened(self) -> BinaryIO:
        if self._file is None:
            # Readers go by the ending, too; nothing else of a name gets here.
            ending = _ENDING.search(self.get_argument("name", "").lower())
            name = secrets.token_hex(16) + (ending.group() if ending else "")
            self._path = self.desk.uploads / name
            self._file = self._path.open("xb")
        return self._file

    def _drop(self) -> None:
        if self._file is not None and self._path is not None:
            self._file.close()
            self._path.unlink(missing_ok=True)


class _FileHandler(JupyterHandler):
    """Gives a file to the instructor's browser."""

    def give(self, path: Path, *, as_file: bool) -> None:
        """Give a file to show in the page, or to keep."""
        if path.is_symlink() or not path.is_file():
            raise web.HTTPError(404)
        kind = _TYPES.get(path.suffix, "application/octet-stream")
        self.set_header("Content-Type", kind)
        self.set_header("Cache-Control", "no-store")
        self.set_header("Referrer-Policy", "no-referrer")
        if as_file:
            name = quote(path.name)
            self.set_header(
                "Content-Disposition", f"attachment; filename*=UTF-8''{name}"
            )
        self.finish(path.read_bytes())

    @property
    def content_security_policy(self) -> str:
        """What is shown runs no script and asks nobody for anything."""
        return _PAGE_POLICY


class ShownHandler(_FileHandler):
    """A page or PDF that was written of a set."""

    @web.authenticated
    def get(self, name: str, place: str) -> None:
        """Give it where it is one that is meant to be looked at."""
        if not _SHOWN.fullmatch(place):
            raise web.HTTPError(404)
        sets: Path = self.settings["desk"].sets
        try:
            folder = set_folder(sets, name)
        except Exception as error:
            raise web.HTTPError(404) from error
        keeps = self.get_argument("keep", "") == "1"
        self.give(folder / place, as_file=keeps)


class DownloadHandler(_FileHandler):
    """A file that work has made for the instructor to keep."""

    @web.authenticated
    def get(self, download: str, name: str) -> None:
        """Give it, under its name."""
        folder: Path = self.settings["desk"].downloads / download
        # Listed, and not joined to the folder: so no name leads out of it.
        names: dict[str, Any] = {path.name: path for path in folder.glob("*")}
        if name not in names:
            raise web.HTTPError(404)
        self.give(names[name], as_file=self.get_argument("show", "") != "1")
