"""The browser's packages: the wheel of our own, and the lock that lists them all."""

from __future__ import annotations

import hashlib
import json
import re
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from email.message import Message
from email.parser import HeaderParser
from pathlib import Path
from typing import Any

from workbook import version

_OWN = Path(version.__file__).parent
_NAME = "clampbook_workbook"
_KINDS = (".py", ".js", ".css", ".mo")
# The first that a zip can hold: the same sources give the same bytes at any time.
_DATE = (1980, 1, 1, 0, 0, 0)
_REQUIREMENT = re.compile(r"\s*([A-Za-z0-9][A-Za-z0-9._-]*)")


def own_files() -> list[Path]:
    """List the files of the workbook package that the browser needs."""
    return sorted(path for path in _OWN.rglob("*") if path.suffix in _KINDS)


def write_workbook_wheel(folder: Path) -> Path:
    """Write the workbook package as a wheel, the same bytes for the same sources.

    Its version ends with a hash of them, so that no browser keeps an old one.
    """
    members = {
        f"workbook/{path.relative_to(_OWN).as_posix()}": path.read_bytes()
        for path in own_files()
    }
    digest = hashlib.sha256()
    for name, data in members.items():
        digest.update(f"{name} {len(data)} ".encode() + data)
    full = f"{version.__version__}+{digest.hexdigest()[:8]}"
    return write_wheel(folder, (_NAME, full), members, ("anywidget", "pint"))


def write_wheel(
    folder: Path,
    name_and_version: tuple[str, str],
    members: Mapping[str, bytes],
    needs: Sequence[str] = (),
) -> Path:
    """Write a wheel of pure Python.

    Parameters
    ----------
    folder : pathlib.Path
        Where it is put.
    name_and_version : tuple of str
        The name with underscores.
    members : mapping of str to bytes
        Files of the package by their paths in the wheel.
    needs : sequence of str
        Packages that it imports.
    """
    name, version = name_and_version
    lines = ["Metadata-Version: 2.1", f"Name: {name}", f"Version: {version}"]
    lines += [f"Requires-Dist: {need}" for need in needs]
    info = f"{name}-{version}.dist-info"
    tags = "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n"
    packed = {
        **members,
        f"{info}/METADATA": ("\n".join(lines) + "\n").encode(),
        f"{info}/WHEEL": tags.encode(),
    }
    record = "".join(f"{each},,\n" for each in (*packed, f"{info}/RECORD"))
    path = folder / f"{name}-{version}-py3-none-any.whl"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as wheel:
        for each, data in {**packed, f"{info}/RECORD": record.encode()}.items():
            wheel.writestr(zipfile.ZipInfo(each, _DATE), data, zipfile.ZIP_DEFLATED)
    return path


def lock_text(core_lock: str, wheels: Iterable[Path]) -> str:
    """Write the lock of exactly these wheels, which the browser's Python loads by.

    Parameters
    ----------
    core_lock : str
        The lock that came with the browser's Python: only what it says of that Python
        is kept, since its wheels are others.
    wheels : iterable of pathlib.Path
        They will lie beside the lock.
    """
    metadata = {path: _metadata(path) for path in wheels}
    present = {_normal(each["Name"]) for each in metadata.values()}
    packages = {
        _normal(each["Name"]): _entry(path, each, present)
        for path, each in metadata.items()
    }
    lock = {"info": json.loads(core_lock)["info"], "packages": packages}
    return json.dumps(lock, indent=1, sort_keys=True)


def _entry(path: Path, metadata: Message, present: set[str]) -> dict[str, Any]:
    name = _normal(metadata["Name"])
    # What is not there is not asked for: it would be looked for where there is no
    # network.
    needs = {need for need in _needs(metadata) if need in present and need != name}
    return {
        "name": name,
        "version": metadata["Version"],
        "file_name": path.name,
        "install_dir": "site",
        "sha256": hashlib.sha256(path.read_bytes()).hexdigest(),
        "package_type": "package",
        "imports": sorted(_top_names(path)),
        "depends": sorted(needs),
        "unvendored_tests": False,
    }


def _metadata(path: Path) -> Message:
    with zipfile.ZipFile(path) as wheel:
        (name,) = (
            name for name in wheel.namelist() if name.endswith(".dist-info/METADATA")
        )
        return HeaderParser().parsestr(wheel.read(name).decode())


def _needs(metadata: Message) -> Iterator[str]:
    """What a package always needs: nothing that only an extra of it asks for."""
    for line in metadata.get_all("Requires-Dist", []):
        requirement, _, marker = line.partition(";")
        if "extra" not in marker and (match := _REQUIREMENT.match(requirement)):
            yield _normal(match[1])


def _top_names(path: Path) -> set[str]:
    with zipfile.ZipFile(path) as wheel:
        tops = {name.partition("/")[0] for name in wheel.namelist()}
    plain = {top.removesuffix(".pyc").removesuffix(".py") for top in tops}
    return {top for top in plain if top.isidentifier()}


def _normal(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()
