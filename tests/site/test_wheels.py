"""The browser's packages: our own wheel, and a lock that names what is there."""

import json
import zipfile
from importlib import metadata

from generator.site.wheels import (
    lock_text,
    own_files,
    write_wheel,
    write_workbook_wheel,
)

CORE = json.dumps({"info": {"python": "3.14.2"}, "packages": {"numpy": {}}})


def lock_of(*wheels):
    """The packages of a lock."""
    return json.loads(lock_text(CORE, wheels))["packages"]


def test_workbook_wheel_holds_the_package_and_is_repeatable(tmp_path):
    """The same sources give the same bytes, scripts and styles with them."""
    (tmp_path / "again").mkdir()
    first = write_workbook_wheel(tmp_path)
    again = write_workbook_wheel(tmp_path / "again")
    assert (first.name, first.read_bytes()) == (again.name, again.read_bytes())
    with zipfile.ZipFile(first) as wheel:
        names = set(wheel.namelist())
    kinds = (
        "page/form.js",
        "page/form.css",
        "page/form.py",
        "locale/de/LC_MESSAGES/clampbook.mo",
    )
    assert {f"workbook/{kind}" for kind in kinds} <= names
    own = [name for name in names if name.startswith("workbook/")]
    assert len(own) == len(own_files())


def test_wheel_is_one_that_python_knows(tmp_path):
    """The standard library finds name, version and needs in it (PEP 427 layout)."""
    path = write_wheel(tmp_path, ("a_b", "1.0"), {"a_b/__init__.py": b""}, ("pint",))
    (found,) = metadata.distributions(path=[str(path)])
    assert (found.name, found.version, found.requires) == ("a_b", "1.0", ["pint"])
    assert {str(file) for file in found.files} >= {"a_b/__init__.py"}


def test_lock_names_only_wheels_that_are_there(tmp_path):
    """What the browser's Python came with is left out, and so are absent needs."""
    one = write_wheel(
        tmp_path, ("one", "1"), {"one/__init__.py": b""}, ("two", "numpy")
    )
    two = write_wheel(tmp_path, ("Two", "2"), {"two.pyc": b""})
    lock = lock_of(one, two)
    assert set(lock) == {"one", "two"}
    assert lock["one"]["depends"] == ["two"]
    assert (lock["two"]["imports"], lock["two"]["file_name"]) == (["two"], two.name)


def test_lock_leaves_out_what_only_an_extra_needs(tmp_path):
    """A package for tests of another one is not loaded with it."""
    needs = ("two; extra == 'test'", "three; python_version > '3'")
    one = write_wheel(tmp_path, ("one", "1"), {}, needs)
    rest = [write_wheel(tmp_path, (name, "1"), {}) for name in ("two", "three")]
    assert lock_of(one, *rest)["one"]["depends"] == ["three"]
