"""Files that we write: whole or not at all, and closed to others where they tell of us.

Whoever is named in a file, or marked, has not asked for the eyes of everybody who has
an account on the same machine.
"""

from __future__ import annotations

import io
import os
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from functools import partial
from pathlib import Path

PRIVATE = 0o600
"""Rights of a file that its owner alone may read and write."""

_PRIVATE_FOLDER = 0o700
_USUAL = 0o666  # less what the umask takes


_FIRST_TIME = (1980, 1, 1, 0, 0, 0)  # the earliest that a zip archive can hold


def zipped(files: Mapping[str, str]) -> bytes:
    """Pack texts by their names: the same give the same bytes, whenever it is done."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        for name, text in files.items():
            info = zipfile.ZipInfo(name, _FIRST_TIME)
            archive.writestr(info, text, zipfile.ZIP_DEFLATED)
    return data.getvalue()


@contextmanager
def naming(path: Path) -> Iterator[None]:
    """Put into errors of the disk the name of the file that is written.

    The system names a file that cannot be opened, but not the one that a full disk
    does not take any more of.
    """
    try:
        yield
    except OSError as error:
        if error.filename is None:
            error.filename = str(path)
        raise


def new_private_folder(path: Path) -> None:
    """Make a folder that only its owner may look into; one that exists stays as it is.

    Its owner may have opened it to others.
    """
    if not path.is_dir():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.mkdir(_PRIVATE_FOLDER, exist_ok=True)


def write_text(path: Path, text: str) -> None:
    """Write a text into a folder that nobody looks into before it is whole."""
    with naming(path):
        # The line ends of this machine would make other bytes of it on Windows.
        path.write_text(text, encoding="utf-8", newline="\n")


def write_private(path: Path, data: bytes) -> None:
    """Write a file that appears whole or not at all, for its owner's eyes alone."""
    write_private_parts(path, (data,))


def write_private_parts(path: Path, parts: Iterable[bytes]) -> None:
    """Write such a file part by part, as they are made; not at all if one fails."""
    new_private_folder(path.parent)
    _write_whole(path, parts, PRIVATE)


def write_whole(path: Path, data: bytes) -> None:
    """Write a file that appears whole or not at all, with the rights that are usual."""
    path.parent.mkdir(exist_ok=True)
    _write_whole(path, (data,), _USUAL)


def _write_whole(path: Path, parts: Iterable[bytes], rights: int) -> None:
    # A draft of its own for each of two graders at once.
    draft = path.with_name(f".{path.name}.{os.getpid()}.part")
    # One that a killed writer has left may have other rights.
    draft.unlink(missing_ok=True)
    with naming(path):
        try:
            with open(draft, "xb", opener=partial(os.open, mode=rights)) as file:
                file.writelines(parts)
            draft.replace(path)
        except BaseException:
            draft.unlink(missing_ok=True)
            raise
