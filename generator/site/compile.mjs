// Compiles the browser's Python packages once, with that Python itself, so that no
// student's browser has to: this takes two thirds off the time until it is ready.
// Called as: node compile.mjs CORE WHEELS

import { pathToFileURL } from "node:url";

const [core, wheels] = process.argv.slice(2);
const { loadPyodide } = await import(pathToFileURL(`${core}/pyodide.mjs`).href);
const python = await loadPyodide({ indexURL: `${core}/` });
for (const [place, root] of Object.entries({ "/core": core, "/wheels": wheels })) {
  python.FS.mkdir(place);
  python.FS.mount(python.FS.filesystems.NODEFS, { root }, place);
}
python.runPython(`
import io
import pathlib
import warnings
import zipfile
from importlib._bootstrap_external import _code_to_timestamp_pyc

DATE = (1980, 1, 1, 0, 0, 0)
UNUSED = {"tests", "testsuite"}
# What IPython imports of the lexers; the hundreds of others are a tenth of all bytes.
LEXERS = "pygments/lexers/"
USED_LEXERS = {
    f"{LEXERS}{name}.py"
    for name in (
        "__init__ _css_builtins _lilypond_builtins _mapping _scheme_builtins css data "
        "html javascript jvm lilypond lisp markup perl python ruby shell special"
    ).split()
}
warnings.simplefilter("ignore")
# Python looks for every import in the working directory first. There that is the
# browser's storage, where each look takes some hundredths of a second.
CUSTOMIZE = """
import sys


class Nothing:
    def find_spec(self, *_):
        return None


def nothing_in_storage(path):
    if path.startswith("/drive"):
        return Nothing()
    raise ImportError(path)


sys.path_hooks.insert(0, nothing_in_storage)
"""


def is_unused(name):
    if name.startswith(LEXERS):
        return name not in USED_LEXERS
    return bool(UNUSED & set(name.split("/")))


def members(old):
    for info in old.infolist():
        name, data = info.filename, old.read(info)
        if is_unused(name):
            continue
        if name.endswith(".py"):
            code = compile(data, name, "exec", dont_inherit=True)
            name, data = f"{name}c", bytes(_code_to_timestamp_pyc(code))
        yield name, data


library = pathlib.Path("/core/python_stdlib.zip")
for path in [library, *sorted(pathlib.Path("/wheels").glob("*.whl"))]:
    packed = io.BytesIO()
    with (
        zipfile.ZipFile(path) as old,
        zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        if path == library:
            new.writestr(zipfile.ZipInfo("sitecustomize.py", DATE), CUSTOMIZE)
        for name, data in members(old):
            new.writestr(zipfile.ZipInfo(name, DATE), data, zipfile.ZIP_DEFLATED)
    path.write_bytes(packed.getvalue())
`);
