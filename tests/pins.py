"""Writes the hashes of what a site is built of: ``python -m tests.pins``.

Change versions in ``generator/site/pinned/`` first. All that is needed has to
be named there, since pip looks for nothing else, and has to be pure Python.
"""

import hashlib
import re
import subprocess
import sys
import zipfile
from pathlib import Path
from tempfile import TemporaryDirectory

from generator.site.pins import BROWSER, BUILD, CORE, CORE_PYTHON
from generator.site.tools import integrity_of

KIND = ("--implementation", "py", "--abi", "none", "--platform", "any")
NO_OTHERS = ("--no-deps", "--only-binary=:all:", "--python-version", CORE_PYTHON)
KERNEL = "jupyterlite_pyodide_kernel/constants.py"


def requirements(text):
    """The packages of a file, each with its version."""
    return re.findall(r"^[\w.-]+==[\w.]+", text, re.MULTILINE)


def renew(path, folder):
    """Fetch every package of a file, and write the file again with the hashes."""
    lines = []
    for number, package in enumerate(requirements(path.read_text("utf-8"))):
        here = folder / f"{path.stem}-{number}"
        pip = (sys.executable, "-m", "pip", "download", "-q", "-d", here)
        subprocess.run([*pip, *KIND, *NO_OTHERS, package], check=True)
        (wheel,) = here.iterdir()
        digest = hashlib.sha256(wheel.read_bytes()).hexdigest()
        lines.append(f"{package} \\\n    --hash=sha256:{digest}\n")
    path.write_text("".join(lines), encoding="utf-8")


def doubts(folder):
    """What in ``pins.py`` has to be changed by hand."""
    name, integrity = CORE
    npm = ("npm", "pack", name, "--silent")
    said = subprocess.run(npm, cwd=folder, check=True, capture_output=True, text=True)
    found = integrity_of(folder / said.stdout.split()[-1])
    if found != integrity:
        yield f"the integrity of {name} is {found}"
    (kernel,) = folder.rglob("jupyterlite_pyodide_kernel-*.whl")
    with zipfile.ZipFile(kernel) as wheel:
        text = wheel.read(KERNEL).decode()
    for what in (name.partition("@")[2], CORE_PYTHON):
        if f'"{what}"' not in text:
            yield f"{what} is not what the browser's kernel was made for:\n{text}"


def main():
    """Renew both files, and say what is left."""
    with TemporaryDirectory() as work:
        for path in (BUILD, BROWSER):
            renew(path, Path(work))
        sys.exit("\n".join(doubts(Path(work))) or 0)


if __name__ == "__main__":
    main()
