"""Find the workbook's own notebook and what it says about itself."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from workbook.errors import NotebookError, SealError
from workbook.record.payload import Exercise, exercises_from_payload
from workbook.record.sealed import unseal
from workbook.texts import _, use

MAX_BYTES = 50_000_000
_MODES = {"practice", "graded", "examination"}
# Ids become parts of file names: plain ASCII only, with what an e-mail address has.
_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._@+-]{0,63}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Notebook:
    """A workbook on disk, opened.

    Parameters
    ----------
    path : Path
        The notebook file.
    set_id, student : str
        Whose work of which class set this is.
    edition : int
        Edition of the class set.
    mode : str
        ``practice``, ``graded`` or ``examination``.
    title : str
        For display.
    exercises : mapping of int to Exercise
        By number.
    """

    path: Path
    set_id: str
    student: str
    edition: int
    mode: str
    title: str
    exercises: Mapping[int, Exercise]


def find_notebook(
    folder: Path, environment: Mapping[str, str], spoken: str = ""
) -> Notebook:
    """Find and open the workbook that a kernel started in `folder` belongs to.

    Parameters
    ----------
    folder : Path
        The kernel's working directory.
    environment : mapping
        ``JPY_SESSION_NAME`` names the notebook where a Jupyter server has set it.
    spoken : str
        Its language, where the folder has it in several.

    Raises
    ------
    NotebookError
        When there is none, or several and nothing says which.
    SealError
        When its sealed text is damaged.
    """
    named = _named_notebook(folder, environment.get("JPY_SESSION_NAME", ""))
    if named is not None:
        metadata = _metadata(named)
        if metadata is not None:
            return _opened(named, metadata)
    return _opened(*_only_workbook(folder, spoken))


def _named_notebook(folder: Path, name: str) -> Path | None:
    """Return the notebook of the server's session name, if it exists."""
    if not name.endswith(".ipynb"):
        return None
    # Servers give a whole path, or one from where they run, which is not this folder.
    for path in (folder / name, folder / Path(name).name):
        if path.is_file():
            return path
    return None


def _only_workbook(folder: Path, spoken: str) -> tuple[Path, dict[str, Any]]:
    """Return the only workbook of the folder, or the only one in a language."""
    found = [
        (path, metadata)
        for path in sorted(folder.glob("*.ipynb"))
        if (metadata := _metadata(path)) is not None
        and spoken in {"", metadata.get("language")}
    ]
    if not found:
        raise NotebookError(
            _(
                "No workbook was found in the folder of this notebook. Keep the "
                "workbook file (its name begins with “clampbook-”) where you opened "
                "it, do not rename it while it is open, and reload the page or run "
                "this cell again."
            )
        )
    if len(found) > 1:
        paths = tuple(path for path, _metadata_of_it in found)
        text = _(
            "There are {count} workbooks in this folder ({names}), and it is not clear "
            "which one this is. Give each workbook a folder of its own, open it there, "
            "and reload the page or run this cell again."
        )
        names = ", ".join(path.name for path in paths)
        raise NotebookError(text.format(count=len(found), names=names), paths=paths)
    return found[0]


def _metadata(path: Path) -> dict[str, Any] | None:
    """Return the notebook's own metadata of ours, None if it is no workbook."""
    try:
        if path.stat().st_size > MAX_BYTES:
            return None
        notebook = json.loads(path.read_text(encoding="utf-8"))
        metadata = notebook["metadata"]["clampbook"]
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None
    return metadata if isinstance(metadata, dict) else None


def _opened(path: Path, metadata: Mapping[str, Any]) -> Notebook:
    """Check the metadata and open the seal; from here on speak its language."""
    use(str(metadata.get("language", "en")))
    if metadata.get("format") != 1:
        text = _(
            "“{file}” was made for another version of the workbook software (format "
            "{format}; this one knows format 1)."
        ).format(file=path.name, format=metadata.get("format"))
        raise NotebookError(text, paths=(path,))
    for key in ("set_id", "student"):
        if not isinstance(metadata.get(key), str) or not _ID.fullmatch(metadata[key]):
            text = _(
                "“{file}” does not say its {key}; ask your instructor for a fresh copy."
            )
            raise NotebookError(text.format(file=path.name, key=key), paths=(path,))
    return Notebook(
        path=path,
        set_id=metadata["set_id"],
        student=metadata["student"],
        edition=int(metadata.get("edition", 1)),
        # Where nobody knows the mode, the page of a graded set promises least.
        mode=mode if (mode := str(metadata.get("mode"))) in _MODES else "graded",
        title=str(metadata.get("title", "")),
        exercises=_exercises(path, metadata.get("sealed")),
    )


def _exercises(path: Path, sealed: object) -> Mapping[int, Exercise]:
    """Open the seal, with the file named where it is damaged."""
    try:
        return _unsealed(sealed if isinstance(sealed, str) else "")
    except SealError as error:
        text = _(
            "The readings inside “{file}” cannot be opened: {reason} Ask your "
            "instructor for a fresh copy, put it in the place of this one, and run "
            "this cell again. Your recorded answers are in files of their own and are "
            "kept."
        )
        raise SealError(text.format(file=path.name, reason=error)) from error


@lru_cache(maxsize=1)  # every cell of a workbook asks for the same
def _unsealed(text: str) -> Mapping[int, Exercise]:
    return exercises_from_payload(unseal(text))


def current_notebook(spoken: str = "") -> Notebook:
    """Find the notebook of this kernel, in a language where there are several."""
    return find_notebook(Path.cwd(), os.environ, spoken)
