"""Has this machine what is needed, and for what it lacks something."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from importlib import import_module, metadata
from pathlib import Path

from answer_keys.own_command import extra_hint, typed
from generator.site.tools import cache_folder

_PACKAGES = ("anywidget", "ipykernel", "ipywidgets", "jupyterlab", "nbformat", "pint")
_PROBE_SECONDS = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One thing looked at; ``is_needed`` is false where only some uses lack it."""

    name: str
    is_sound: bool
    found: str
    is_needed: bool = True


def checks() -> tuple[Check, ...]:
    """Look at Python, packages, the Jupyter kernel, the disk and helper programs."""
    version = ".".join(map(str, sys.version_info[:3]))
    return (
        Check(
            name="Python",
            is_sound=sys.version_info >= (3, 11),
            found=f"{version}; 3.11 or newer is needed",
        ),
        *(_package(name) for name in _PACKAGES),
        _kernel(),
        _folder(),
        _library("PDF", "weasyprint", "print", "handouts and sheets are HTML only"),
        _library("PDF check", "pypdfium2", "print", "'validate' looks through no PDF"),
        _library("PostgreSQL", "psycopg", "postgres", "a gradebook is a SQLite file"),
        _library("hub", "jupyterhub", "hub", "there is no 'hub'"),
        _library("cluster", "distributed", "cluster", "classes are drawn here alone"),
        _site(),
        _program("node", "no first build of a site: 'site' and 'serve' run it"),
        _program("npm", "no first build of a site: 'site' and 'serve' fetch with it"),
        _program("ngspice", "no test of our solver against another one"),
        _program("chromium", "no test of workbook and site in it"),
        _program("firefox-esr", "no test of workbook and site in it"),
    )


def _package(name: str) -> Check:
    try:
        return Check(name=name, is_sound=True, found=metadata.version(name))
    except metadata.PackageNotFoundError:
        return Check(name=name, is_sound=False, found="not installed")


def _kernel() -> Check:
    """The kernel called python3 must start a Python that has the workbook package."""
    name = "kernel python3"
    try:
        # Its absence is something to report, not to fail at.
        from jupyter_client.kernelspec import KernelSpecManager, NoSuchKernel
    except ImportError:
        return Check(name=name, is_sound=False, found="Jupyter is not installed")
    try:
        named = KernelSpecManager().get_kernel_spec("python3").argv[0]
    except NoSuchKernel:
        return Check(name=name, is_sound=False, found="not known to Jupyter")
    # Jupyter takes a bare name as the Python that it runs on itself.
    program = sys.executable if Path(named).name == named else named
    try:
        # A fixed command on the kernel's own interpreter; nothing of a user's in it.
        subprocess.run(  # noqa: S603
            [program, "-c", "import workbook"],
            check=True,
            capture_output=True,
            timeout=_PROBE_SECONDS,
            cwd=tempfile.gettempdir(),
        )
    except (OSError, subprocess.SubprocessError):
        found = f"{program} cannot import the workbook package"
        return Check(name=name, is_sound=False, found=found)
    return Check(name=name, is_sound=True, found=program)


def _folder() -> Check:
    here = Path.cwd()
    sound = os.access(here, os.W_OK)
    found = f"{here} can{'' if sound else 'not'} be written"
    return Check(name="this folder", is_sound=sound, found=found)


def _library(name: str, module: str, extra: str, without: str) -> Check:
    """A library of an extra; what it stands on may be missing as well."""
    try:
        import_module(module)
    except (ImportError, OSError):
        # Without Pango WeasyPrint raises OSError as it is imported.
        found = f"{module} cannot be used; without it {without}; {extra_hint(extra)}"
        return Check(name=name, is_sound=False, found=found, is_needed=False)
    found = f"{module} {metadata.version(module)}"
    return Check(name=name, is_sound=True, found=found, is_needed=False)


def _site() -> Check:
    """The parts of a site are fetched and built once, and kept."""
    kept = [folder for folder in cache_folder().glob("shared-*") if folder.is_dir()]
    found = (
        f"built, in {cache_folder()}"
        if kept
        else f"not built yet; the first '{typed('site')}' needs the network, later "
        "ones do not"
    )
    return Check(name="site's parts", is_sound=bool(kept), found=found, is_needed=False)


def _program(name: str, without: str) -> Check:
    path = shutil.which(name)
    found = path or f"not found; without it {without}"
    return Check(name=name, is_sound=path is not None, found=found, is_needed=False)
