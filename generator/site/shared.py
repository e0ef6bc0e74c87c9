"""The part of a site that all students share, built once per version and cached."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from answer_keys.headway import Progress
from generator.errors import SiteError
from generator.filled_page import filled_page
from generator.site.pins import STARTED
from generator.site.tools import Fetched, cache_folder, fetched, once, run
from generator.site.wheels import lock_text, own_files, write_workbook_wheel
from workbook.texts import LANGUAGES, _, speaking

_HERE = Path(__file__).parent
# The folder that Jupyter servers, too, find our page extension in.
EXTENSIONS = _HERE / "labextensions"
_PAGES = _HERE / "pages"
_KERNEL = "@jupyterlite/pyodide-kernel-extension:kernel"
_STEPS = 5
_LITE = ("--apps", "notebooks", "--no-unused-shared-packages", "--no-sourcemaps")


def shared_part(progress: Progress) -> Path:
    """Return the folder of the shared part, built where it is not in the cache.

    Raises
    ------
    SiteError
        Where what it takes cannot be fetched or run.
    """

    def make(draft: Path) -> None:
        parts = fetched(lambda done: progress("building", done, _STEPS))
        _build(parts, draft)
        progress("building", _STEPS, _STEPS)

    return once(cache_folder() / f"shared-{_key()}", make)


def _key() -> str:
    """Change with everything that the shared part is made of."""
    digest = hashlib.sha256()
    sources = [*_HERE.rglob("*"), *own_files()]
    for path in sorted(path for path in sources if path.is_file()):
        if path.suffix != ".pyc":
            digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()[:12]


def _build(parts: Fetched, out: Path) -> None:
    with TemporaryDirectory() as work:
        lite = Path(work) / "lite"
        _write_python(parts, lite / "static" / "pyodide")
        (lite / "jupyter-lite.json").write_text(json.dumps(_configuration()), "utf-8")
        (lite / "overrides.json").write_text(json.dumps(_SETTINGS), "utf-8")
        ours = f"--FederatedExtensionAddon.extra_labextensions_path={EXTENSIONS}"
        where = ("--lite-dir", lite, "--output-dir", Path(work) / "out")
        command = (parts.python, "-m", "jupyterlite_core", "build", *where, *_LITE)
        run([*command, ours], Path(work), "Building the site")
        shutil.copytree(Path(work) / "out", out, dirs_exist_ok=True)
    _write_pages(out)


def _write_python(parts: Fetched, folder: Path) -> None:
    """Put together the browser's Python: core, wheels and the lock that lists them."""
    shutil.copytree(parts.core, folder)
    for wheel in parts.wheels.glob("*.whl"):
        shutil.copy(wheel, folder)
    write_workbook_wheel(folder)
    lock = folder / "pyodide-lock.json"
    text = lock_text(lock.read_text("utf-8"), sorted(folder.glob("*.whl")))
    lock.write_text(text, "utf-8")


def _configuration() -> dict[str, Any]:
    kernel = {
        "pyodideUrl": "./static/pyodide/pyodide.mjs",
        "disablePyPIFallback": True,
        "loadPyodideOptions": {
            "lockFileURL": "./static/pyodide/pyodide-lock.json",
            "packages": STARTED,
        },
    }
    return {
        "jupyter-lite-schema-version": 0,
        "jupyter-config-data": {
            "appName": "Clampbook",
            # Without it no listing is read; it is left out where there is no file yet.
            "contentsAllJsonFile": "all.json",
            "litePluginSettings": {_KERNEL: kernel},
        },
    }


_SETTINGS = {
    # A notebook saved in the browser would hide a newer one of the site.
    "@jupyterlab/docmanager-extension:plugin": {"autosave": False},
    # Light or dark as the student's computer is, and as the start page is.
    "@jupyterlab/apputils-extension:themes": {"adaptive-theme": True},
}


def _write_pages(out: Path) -> None:
    """Write the start page, and pages that stand where a server would list folders."""
    for path in _PAGES.iterdir():
        shutil.copy(path, out)
    _show_opening(out / "notebooks" / "index.html", out / "opening.html")
    for name in ("files", "api", "api/contents"):
        (out / name).mkdir(exist_ok=True)
        (out / name / "index.html").write_text(_NOTHING, "utf-8")
    listing = {**DIRECTORY, "name": "", "path": "", "content": []}
    (out / "api" / "contents" / "all.json").write_text(json.dumps(listing), "utf-8")


_LATE_MS = 60_000


def _show_opening(page: Path, opening: Path) -> None:
    """Put into the page of a workbook what is seen until there is more of it."""
    texts = {spoken: _opening_texts(spoken) for spoken in LANGUAGES}
    drawn = filled_page(opening, texts=texts, late_ms=_LATE_MS)
    opening.unlink()
    text = page.read_text("utf-8")
    body = re.search(r"<body\b[^>]*>", text)
    if body is None:
        raise SiteError("the page of a notebook has no body; take the pinned releases.")
    page.write_text(text[: body.end()] + drawn + text[body.end() :], "utf-8")


def _opening_texts(spoken: str) -> dict[str, str]:
    with speaking(spoken):
        return {
            "title": _("Your workbook opens"),
            "step": _("Step 1 of 4: the page is fetched."),
            "late": _(
                "This takes unusually long. Reload this page; if that does not help, "
                "tell your instructor."
            ),
        }


_NOTHING = (
    '<!doctype html><meta charset="utf-8"><meta name="robots" content="noindex">'
    "<title>Nothing here</title><p>There is nothing to see here.</p>\n"
)
# As a Jupyter server describes a folder; the date stands for none.
DIRECTORY: dict[str, Any] = {
    "type": "directory",
    "format": "json",
    "mimetype": None,
    "writable": True,
    "created": "2000-01-01T00:00:00Z",
    "last_modified": "2000-01-01T00:00:00Z",
}
