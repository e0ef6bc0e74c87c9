"""Imports go one way, rooms stay apart, and nothing ties the code to one machine."""

import ast
import re
import subprocess
import sys
import tomllib
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGES = ("answer_keys", "generator", "lessons", "workbook")
# Which rooms each room may import, itself aside.
ALLOWED = {
    "workbook": set(),
    "generator.model": set(),
    "lessons": {"generator.model"},
    "answer_keys": {"generator.model", "workbook"},
    "generator.writing": {"answer_keys", "generator.model", "lessons", "workbook"},
    # The command itself and what only it needs.
    "generator": {
        "answer_keys",
        "generator.model",
        "generator.writing",
        "lessons",
        "workbook",
    },
}
NOT_IN_WORKBOOK = {
    "cryptography",
    "matplotlib",
    "nbclient",
    "nbformat",
    "numpy",
    "pandas",
    "pydantic",
    "scipy",
    "sqlalchemy",
}
NOT_IN_ANSWER_KEYS = {
    "dill",
    "ipykernel",
    "jupyter_client",
    "marshal",
    "nbclient",
    "nbconvert",
    "nbformat",
    "papermill",
    "pickle",
    "runpy",
    "shelve",
    "subprocess",
}
NOT_IN_MODEL = {"logging", "os", "pathlib", "random", "secrets", "time", "datetime"}
# Modules one under the other, the topmost counted.
LONGEST_CHAIN = 10
# Written in two halves, so that this file is no finding of its own.
REGISTRY = re.compile(
    r"(pypi\.|pythonhosted\.|npmjs\.|conda\.anaconda\.|jsdelivr\.|unpkg\.)"
    + r"(org|com|net)"
)
MACHINE_PATH = re.compile(r"[\"'\s(=](/tmp/|/work/|/home/|/root/|/Users/|[A-Z]:\\\\)")


@cache
def modules():
    """Every module of ours by its dotted name, with its path."""
    paths = [path for name in PACKAGES for path in (ROOT / name).rglob("*.py")]
    return {
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(
            ".__init__"
        ): path
        for path in sorted(paths)
    }


@cache
def tree_of(name):
    """A module as it is parsed."""
    return ast.parse(modules()[name].read_text("utf-8"))


@cache
def imports_of(name):
    """Dotted names that a module imports, also inside functions and for types."""
    return imported(name, ast.walk(tree_of(name)))


@cache
def loaded_by(name):
    """Modules of ours that a module imports as it is imported itself."""
    return imported(name, run_at_import(tree_of(name))) & set(modules()) - {name}


def run_at_import(node):
    """What runs when a module is imported: no function's body, nothing for types."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            continue
        if isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test):
            continue
        yield child
        yield from run_at_import(child)


def imported(name, nodes):
    """Dotted names that some lines of a module import."""
    found = set()
    for node in nodes:
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name} has a relative import"
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return frozenset(own_module(one) or one for one in found)


@cache
def chain_of(name):
    """The longest chain of modules that one is imported with, itself first."""
    return (name, *max(map(chain_of, loaded_by(name)), key=len, default=()))


def own_module(name):
    """Which module of ours a dotted name lies in, or none."""
    while name:
        if name in modules():
            return name
        name = name.rpartition(".")[0]
    return None


def room_of(name):
    """The room of a module: its package, or the part of ``generator`` it stands in."""
    within = [room for room in ALLOWED if f"{name}.".startswith(f"{room}.")]
    return max(within, key=len, default=name)


def of_room(room):
    """Modules of one room."""
    return [name for name in modules() if room_of(name) == room]


def foreign(room):
    """First names of everything that a room imports from elsewhere."""
    return {
        one.split(".")[0]
        for name in of_room(room)
        for one in imports_of(name)
        if one not in modules()
    }


def tracked_files():
    """Text files under version control; without it nothing can be said."""
    if not (ROOT / ".git").exists():
        pytest.skip("this copy is under no version control")
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    names = [name for name in listed.stdout.split("\0") if name]
    paths = [ROOT / name for name in names if (ROOT / name).is_file()]
    for path in paths:
        try:
            yield path, path.read_text("utf-8")
        except UnicodeDecodeError:
            continue


def test_every_module_stands_in_a_known_room():
    """A new room needs a place in the order."""
    assert {room_of(name) for name in modules()} == set(ALLOWED)


@pytest.mark.parametrize("room", ALLOWED)
def test_room_imports_only_rooms_below_it(room):
    """Model and workbook know nothing of the rest; the command knows all."""
    used = {
        room_of(one)
        for name in of_room(room)
        for one in imports_of(name)
        if one in modules()
    }
    assert of_room(room)
    assert used - {room} <= ALLOWED[room]


def test_modules_import_in_no_circle():
    """Every module can be read after those that it imports."""
    graph = {
        name: {one for one in imports_of(name) if one in modules() and one != name}
        for name in modules()
    }
    try:
        order = list(TopologicalSorter(graph).static_order())
    except CycleError as error:
        pytest.fail(f"modules import each other: {' -> '.join(error.args[1])}")
    assert set(order) == set(modules())


def test_chains_of_imports_are_short():
    """Nobody has to know many modules one under the other to change the topmost."""
    chains = [chain_of(name) for name in modules()]
    assert [" <- ".join(chain) for chain in chains if len(chain) > LONGEST_CHAIN] == []
    assert chain_of("generator.model.diagnostics")[-1] == "generator.model.network"


def test_workbook_imports_nothing_heavy_or_compiled():
    """It has to run in a browser too."""
    assert not foreign("workbook") & NOT_IN_WORKBOOK
    assert "anywidget" in foreign("workbook")


def test_answer_keys_import_nothing_that_runs_a_notebook():
    """A hand-in is data: nothing of a student's is ever executed."""
    assert not foreign("answer_keys") & NOT_IN_ANSWER_KEYS


def test_model_imports_no_file_clock_or_global_chance():
    """It is pure functions on records and arrays."""
    assert not foreign("generator.model") & NOT_IN_MODEL
    assert "numpy" in foreign("generator.model")


def test_foreign_imports_are_declared():
    """What the packages import is declared, or comes with the kernel that is."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    texts = project["dependencies"] + project["optional-dependencies"]["print"]
    declared = {re.match(r"[\w-]+", text)[0] for text in texts}
    with_kernel = {"IPython", "jupyter_client", "traitlets"}
    used = set().union(*map(foreign, ALLOWED)) - set(sys.stdlib_module_names)
    assert used - declared - with_kernel == set()


def test_packages_name_no_path_of_one_machine():
    """Code that holds an absolute path runs on one computer only."""
    found = [
        f"{name}, line {number}"
        for name, path in modules().items()
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if MACHINE_PATH.search(line)
    ]
    assert found == []


def test_tracked_files_name_no_package_registry():
    """Nothing is fetched from an address written into the project."""
    found = [str(path) for path, text in tracked_files() if REGISTRY.search(text)]
    assert found == []


def test_patterns_find_what_they_look_for():
    """The two checks above would see a path and a host."""
    assert MACHINE_PATH.search('open("/tmp/x")')
    assert MACHINE_PATH.search("path = '/home/me'")
    assert not MACHINE_PATH.search("see docs/tmp/x")
    assert REGISTRY.search("https://" + "pypi" + ".org/simple")
