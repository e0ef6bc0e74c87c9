"""The same secret gives the same set on processors of every kind."""

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.command import files_below

# Kernels that OpenBLAS has for x86, oldest first; a processor runs those of its age.
KERNELS = ("Prescott", "Nehalem", "Sandybridge", "Haswell", "SkylakeX")
# How a system of equations is rounded, and what else NumPy can use of the processor.
TRIAL = """
import numpy as np
matrix = np.random.default_rng(1).random((24, 24))
print(np.linalg.solve(matrix, matrix[0]).tobytes().hex())
print(*np.show_config(mode="dicts")["SIMD Extensions"].get("found", []))
"""
COMMAND = """
from answer_keys.keys.class_secret import ClassSecret
from generator.cli import main
from generator.sets import set_writing
set_writing.new_class_secret = lambda: ClassSecret(value=bytes(range(32)))
main()
"""
# What NumPy rounds otherwise on some processors, not all of which run these tests.
BY_PROCESSOR = {
    *("dot", "einsum", "inner", "linalg", "matmul", "tensordot", "vdot"),
    *("exp", "exp2", "expm1", "log", "log10", "log1p", "log2", "power", "float_power"),
    *("cos", "cosh", "sin", "sinh", "tan", "tanh", "geomspace", "logspace", "hypot"),
}
MATRIX_PRODUCT = "@"
# Powers of complex numbers, for which NumPy asks the C library; pictures of lessons in
# whole points.
ALLOWED = {
    ("transients", "exp"),
    ("inrush", "expm1"),
    ("inrush", "geomspace"),
}
ROOT = Path(__file__).parents[1]
ASKED = ("--students=1", "--exercises=2", "--lessons=turn-off,mixed-diagnosis")


def run(code, *arguments, **kind):
    """Run Python on a processor that passes for one of another kind."""
    line = [sys.executable, "-W", "error", "-c", code, *map(str, arguments)]
    return subprocess.run(
        line, env={**os.environ, **kind}, capture_output=True, text=True, check=False
    )


@pytest.fixture(scope="module")
def kinds():
    """The oldest and the newest kind that solve a system in other digits."""
    trials = {name: run(TRIAL, OPENBLAS_CORETYPE=name) for name in KERNELS}
    digits = {n: t.stdout.splitlines() for n, t in trials.items() if not t.returncode}
    if len({solution for solution, _ in digits.values()}) < 2:
        pytest.skip("linear algebra on this computer rounds in one way alone")
    newest = list(digits)[-1]
    oldest = next(name for name in digits if digits[name][0] != digits[newest][0])
    plain = {"OPENBLAS_CORETYPE": oldest}
    if features := digits[oldest][1]:
        plain["NPY_DISABLE_CPU_FEATURES"] = features
    return plain, {"OPENBLAS_CORETYPE": newest}


@pytest.fixture(scope="module")
def sets(kinds, tmp_path_factory):
    """A practice set of one secret, written by each kind."""
    folder = tmp_path_factory.mktemp("processors")
    made = [folder / name for name in ("old", "new")]
    for out, kind in zip(made, kinds, strict=True):
        written = run(COMMAND, "generate", *ASKED, f"--out={out}", **kind)
        assert written.returncode == 0, written.stderr
    return made


@pytest.mark.nightly
def test_workbooks_are_the_same_bytes(sets):
    """Whichever computer writes them."""
    one, other = (files_below(made / "for-students") for made in sets)
    assert one == other


@pytest.mark.nightly
def test_set_of_one_kind_is_sound_on_another(sets, kinds):
    """A set made at school is validated at home."""
    checked = run(COMMAND, "validate", sets[0], **kinds[1])
    assert checked.returncode == 0, checked.stderr


def used(path):
    """What a module uses of that, with its name."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.MatMult):
            yield path.stem, MATRIX_PRODUCT
        elif isinstance(node, ast.Attribute):
            library, _, name = ast.unparse(node).partition(".")
            if library == "np" and name in BY_PROCESSOR:
                yield path.stem, name


def test_nothing_that_is_written_hangs_on_the_processor():
    """What does is of no account for a set."""
    folders = (ROOT / "generator" / name for name in ("model", "writing"))
    modules = [path for folder in folders for path in folder.rglob("*.py")]
    assert {each for path in modules for each in used(path)} == ALLOWED
