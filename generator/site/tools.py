"""Fetches what a site is built of, once, by the ordinary clients pip and npm."""

from __future__ import annotations

import base64
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tarfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory, mkdtemp

from platformdirs import user_cache_path

from answer_keys.own_command import typed
from generator.errors import SiteError
from generator.site.pins import (
    BROWSER,
    BUILD,
    BUNDLED,
    CORE,
    CORE_PYTHON,
    EMPTY,
)
from generator.site.wheels import write_wheel
from generator.surroundings import plain_environment
from workbook.texts import _, later

_CORE_FILES = (
    "pyodide-lock.json",
    "pyodide.asm.mjs",
    "pyodide.asm.wasm",
    "pyodide.mjs",
    "python_stdlib.zip",
)
# Every package that is taken stands in the file, with the hash of its wheel.
_PINNED_ONLY = ("--only-binary=:all:", "--no-deps", "--require-hashes", "-r")
_COMPILE = Path(__file__).parent / "compile.mjs"
_SECONDS = 900
_KEPT = 2
# No build takes a day: a draft that is older was left by a run that was killed.
_DRAFT_S = 86400.0
_OFFLINE = later(
    "The first site needs the network to fetch its parts; later ones do not. Look "
    "whether this machine is connected, and what '{command}' says."
)


class Fetched:
    """The folder that holds everything fetched, and what lies where in it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.wheels = folder / "wheels"
        self.core = folder / "core"
        self._environment = folder / "tools"

    @property
    def python(self) -> Path:
        """Interpreter of the build tools."""
        scripts = "Scripts/python.exe" if os.name == "nt" else "bin/python"
        return self._environment / scripts

    @property
    def kernel_extension(self) -> Path:
        """Folder of the browser's kernel as JupyterLab would load it."""
        extensions = self._environment / "share" / "jupyter" / "labextensions"
        return extensions / "@jupyterlite" / "pyodide-kernel-extension"


def cache_folder() -> Path:
    """Return where built parts are kept between runs; it may be deleted any time."""
    return user_cache_path("clampbook") / "site"


def once(folder: Path, make: Callable[[Path], None]) -> Path:
    """Make a folder whole or not at all, unless it is there.

    Of its kind, the part of the name before the hyphen, only the last used are kept.

    Parameters
    ----------
    folder : pathlib.Path
        Its name has to change with what it is made of.
    make : callable
        Fills an empty folder, which gets the name when all went well.
    """
    if not folder.is_dir():
        folder.parent.mkdir(parents=True, exist_ok=True)
        draft = Path(mkdtemp(prefix=".part-", dir=folder.parent))
        try:
            make(draft)
            # A folder for temporary things is its owner's alone, and what is copied
            # from it for a web server has to be read by others.
            draft.chmod(0o755)
            _take_name(draft, folder)
        finally:
            shutil.rmtree(draft, ignore_errors=True)
    # The time tells when it was used last, by which older ones are dropped.
    os.utime(folder)
    _drop_unused(folder)
    return folder


def _drop_unused(folder: Path) -> None:
    """Remove what older versions have left, and drafts of runs that were killed."""
    kind = folder.name.partition("-")[0]
    used = sorted(folder.parent.glob(f"{kind}-*"), key=_last_used, reverse=True)
    drafts = folder.parent.glob(".part-*")
    old = [draft for draft in drafts if _last_used(draft) < time.time() - _DRAFT_S]
    for each in (*used[_KEPT:], *old):
        shutil.rmtree(each, ignore_errors=True)


def _last_used(folder: Path) -> float:
    try:
        return folder.stat().st_mtime
    except OSError:
        # Another process has just removed it.
        return 0.0


def _take_name(draft: Path, folder: Path) -> None:
    try:
        draft.rename(folder)
    except OSError:
        # Another process was faster, and made the same.
        if not folder.is_dir():
            raise


def fetched(tell: Callable[[int], None] = lambda _: None) -> Fetched:
    """Return build tools, wheels and browser core, fetched where they are not yet.

    Parameters
    ----------
    tell : callable
        Called with how many of four steps are done.

    Raises
    ------
    SiteError
        Where npm, the module venv or the network is missing.
    """

    def make(draft: Path) -> None:
        made = Fetched(draft)
        _check_programs()
        _make_tools(made)
        tell(1)
        _fetch_wheels(made)
        tell(2)
        made.core.mkdir()
        fetch_package(CORE, _CORE_FILES, made.core)
        tell(3)
        _compile(made)
        tell(4)

    return Fetched(once(cache_folder() / f"fetched-{_key()}", make))


def _key() -> str:
    parts = [CORE, CORE_PYTHON, BUNDLED, EMPTY, sys.version_info[:2], sys.platform]
    digest = hashlib.sha256(json.dumps(parts).encode())
    for path in (BUILD, BROWSER, _COMPILE):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:12]


def _check_programs() -> None:
    missing = [name for name in ("node", "npm") if shutil.which(name) is None]
    if missing:
        raise SiteError(
            _(
                "A site needs {missing} for its first build, which fetches Python for "
                "the browser. Install Node.js, which brings both, and run this again."
            ).format(missing=_(" and ").join(missing))
        )


def run(arguments: Sequence[str | Path], folder: Path, what: str) -> str:
    """Run one program of the build; return what it printed.

    Raises
    ------
    SiteError
        Where it fails, with the last lines that it wrote.
    """
    try:
        # Fixed commands of our own; nothing of a student's is in them.
        done = subprocess.run(  # noqa: S603
            [str(each) for each in arguments],
            cwd=folder,
            env={**plain_environment(), "JUPYTER_PLATFORM_DIRS": "1", "NO_COLOR": "1"},
            capture_output=True,
            encoding="utf-8",
            errors="replace",
            timeout=_SECONDS,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise SiteError(f"{what}: {error}") from error
    if done.returncode:
        last = "\n".join((done.stdout + done.stderr).strip().splitlines()[-6:])
        hint = _(_OFFLINE).format(command=typed("doctor"))
        failed = _("{what} failed.").format(what=what)
        raise SiteError(f"{failed} {hint}\n{last}")
    return done.stdout


def _make_tools(made: Fetched) -> None:
    what = "Making the Python environment of the build tools"
    run([sys.executable, "-m", "venv", made.folder / "tools"], made.folder, what)
    pip = (made.python, "-m", "pip", "install", "-q", *_PINNED_ONLY, BUILD)
    run(pip, made.folder, "Installing the build tools with pip")


def _fetch_wheels(made: Fetched) -> None:
    pip = (made.python, "-m", "pip", "download", "-q", "-d", made.wheels)
    kind = ("--implementation", "py", "--abi", "none", "--platform", "any")
    options = (*kind, "--python-version", CORE_PYTHON, *_PINNED_ONLY, BROWSER)
    what = "Fetching the browser's packages with pip"
    run([*pip, *options], made.folder, what)
    for wheel in (made.kernel_extension / "static" / "pypi").glob("*.whl"):
        if wheel.name.startswith(BUNDLED):
            shutil.copy(wheel, made.wheels)
    write_wheel(made.wheels, (EMPTY, "0"), {})


def fetch_package(package: tuple[str, str], files: Sequence[str], folder: Path) -> None:
    """Put some files of an npm package into a folder.

    Parameters
    ----------
    package : tuple of str
        Name with version, and the integrity of what npm fetches under it.
    files : sequence of str
        Their paths in the package.
    folder : pathlib.Path
        Where they are put.

    Raises
    ------
    SiteError
        Where npm or the network is missing, or something else is fetched.
    """
    name, integrity = package
    npm = shutil.which("npm") or "npm"
    with TemporaryDirectory() as work:
        what = f"Fetching {name} with npm"
        file = run([npm, "pack", name, "--silent"], Path(work), what).split()[-1]
        if integrity_of(Path(work) / file) != integrity:
            raise SiteError(
                f"{name}: what npm fetched is not what was published under this name "
                "when Clampbook was written, so it is not used. Look what npm fetches "
                "from: 'npm config get registry'."
            )
        with tarfile.open(Path(work) / file) as packed:
            # These alone: older releases of Python 3.11 cannot unpack a whole archive
            # safely.
            for each in files:
                with packed.extractfile(f"package/{each}") as one:  # type: ignore[union-attr]  # no folder
                    (folder / each).write_bytes(one.read())


def integrity_of(path: Path) -> str:
    """Return a hash of a file as npm writes it (Subresource Integrity)."""
    digest = hashlib.sha512(path.read_bytes()).digest()
    return f"sha512-{base64.b64encode(digest).decode()}"


def _compile(made: Fetched) -> None:
    node = shutil.which("node") or "node"
    what = "Compiling the browser's packages with node"
    run([node, _COMPILE, made.core, made.wheels], made.folder, what)
