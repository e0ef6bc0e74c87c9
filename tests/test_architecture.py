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
# A row of the table of packages: its name, what is in it, what it imports of ours.
ROW = re.compile(r"^\| `([a-z_.]+)` \| [^|]+ \| ([^|]+) \|$", re.MULTILINE)
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
# Modules one under the other, the topmost counted, also where only a type is imported.
LONGEST_CHAIN = 14
MOST_LINES = 400
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
    """The longest chain of modules that one imports one through the other."""
    below = imports_of(name) & set(modules()) - {name}
    return (name, *max(map(chain_of, below), key=len, default=()))


def own_module(name):
    """Which module of ours a dotted name lies in, or none."""
    while name:
        if name in modules():
            return name
        name = name.rpartition(".")[0]
    return None


@cache
def table():
    """The table of packages in the contributors' guide: what each may import."""
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    return {
        package: set(re.findall(r"`([a-z_.]+)`", allowed))
        for package, allowed in ROW.findall(text)
    }


def package_of(name):
    """The package that a module stands in, or that it is."""
    is_package = modules()[name].name == "__init__.py"
    return name if is_package else name.rpartition(".")[0]


def of_room(room):
    """Modules of a package and of those below it."""
    return [name for name in modules() if f"{name}.".startswith(f"{room}.")]


def of_package(package):
    """Modules of one package, without those below it."""
    return [name for name in modules() if package_of(name) == package]


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


def test_every_package_stands_in_the_table():
    """A new one needs a purpose, and a place in the order."""
    assert {package_of(name) for name in modules()} == set(table())


@pytest.mark.parametrize("package", sorted(table()))
def test_package_imports_what_the_table_says(package):
    """No more, and no less: the table is what a contributor goes by."""
    used = {
        package_of(one)
        for name in of_package(package)
        for one in imports_of(name)
        if one in modules()
    }
    assert used - {package} == table()[package]


def test_packages_import_in_no_circle():
    """Every package can be read after those that it imports."""
    # The room's first file opens the form when a notebook asks for it.
    graph = table() | {"workbook": table()["workbook"] - {"workbook.page"}}
    assert set(TopologicalSorter(graph).static_order()) == set(table())


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
    assert chain_of("generator.model.edits")[-1] == "generator.model.circuit"


def test_no_module_is_longer_than_a_reader_can_hold():
    """What has more lines than that holds more than one thing."""
    lines = {
        path: len(path.read_text("utf-8").splitlines()) for path in modules().values()
    }
    assert [path for path, count in lines.items() if count > MOST_LINES] == []


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


def test_only_commands_know_the_terminal():
    """What a command does, a page or a test can ask for as well."""
    terminal = {"click", "rich"}
    known = {
        name
        for name in modules()
        if any(one.split(".")[0] in terminal for one in imports_of(name))
    }
    outside = {name for name in known if not name.startswith("generator.commands.")}
    assert outside <= {"generator.cli"}
    assert known != outside


def test_foreign_imports_are_declared():
    """What the packages import is declared, or comes with the kernel that is."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    extras = project["optional-dependencies"]
    texts = [
        *project["dependencies"],
        *extras["hub"],
        *extras["print"],
        *extras["cluster"],
    ]
    declared = {re.match(r"[\w-]+", text)[0] for text in texts}
    with_kernel = {"IPython", "jupyter_client", "traitlets"}
    used = set().union(*map(foreign, PACKAGES)) - set(sys.stdlib_module_names)
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


def test_processes_that_mark_check_no_files_of_the_instructors():
    """What only their checker needs would be loaded by each of them."""
    program = (
        "import sys, generator.grading.processes\n"
        "print(sorted({'pydantic', 'sqlalchemy'} & sys.modules.keys()))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout == "[]\n"
