import ast
from pathlib import Path

import answer_keys

ROOM = Path(answer_keys.__file__).parent
FORBIDDEN = {
    "IPython",
    "ctypes",
    "dill",
    "ipykernel",
    "joblib",
    "jupyter_client",
    "marshal",
    "multiprocessing",
    "nbclient",
    "nbconvert",
    "nbformat",
    "pickle",
    "runpy",
    "shelve",
    "subprocess",
}
FORBIDDEN_CALLS = {"eval", "exec", "compile", "__import__"}


def trees():
    """The syntax tree of each module of the room."""
    return [ast.parse(path.read_text("utf-8")) for path in sorted(ROOM.rglob("*.py"))]


def imported():
    """Every module that the room imports, also inside functions."""
    for tree in trees():
        for node in ast.walk(tree):
            if isinstance(node, ast.Import):
                yield from (alias.name for alias in node.names)
            elif isinstance(node, ast.ImportFrom):
                yield node.module or ""


def test_room_imports_nothing_that_runs_a_hand_in():
    """Grading cannot start a kernel, a process or a loader of objects."""
    roots = {name.split(".")[0] for name in imported()}
    assert not roots & FORBIDDEN


def test_room_imports_only_the_rooms_below_it():
    """Of this project only the model and the workbook are used."""
    own = {
        name
        for name in imported()
        if name.startswith(("generator", "lessons", "tests"))
    }
    assert all(name.startswith("generator.model") for name in own)


def test_room_calls_nothing_that_runs_text():
    """No text is ever run as code."""
    called = {
        node.func.id
        for tree in trees()
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert not called & FORBIDDEN_CALLS
