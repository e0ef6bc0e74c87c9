"""Every benchmark runs to its end, and prints what it has measured."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
# How each is called, as small as it goes, and a line of its last figure.
BENCHES = {
    "tests.bench": ((10,), "10 exercises / one: time"),
    "tests.bench.gradebook": ((200, 2), "recorded all hand-ins"),
    "tests.bench.grading": ((8, 2, 2, 2), "every exercise done anew:"),
    "tests.bench.large_class": ((1, 2, 3), "3 students take of what is proportional:"),
    "tests.bench.measuring": ((), "from the click to the reading"),
    "tests.bench.opening": ((), "third visit, until all forms are there"),
    "tests.bench.page": ((), "phone: from the field to the button"),
    "tests.bench.room": ((4,), "room, 4 students paced"),
    "tests.bench.sets": ((1,), "one process / two, 1 students:"),
    "tests.bench.site": ((1, 2), "JupyterLab"),
    "tests.bench.whole_set": ((1, 2, 3), "3 students, validated, of what is"),
}
LONGEST = {"tests.bench.page", "tests.bench.site", "tests.bench.whole_set"}


@pytest.mark.nightly
@pytest.mark.parametrize(
    "name",
    [
        # Those that open workbooks again and again, or print, take longest.
        pytest.param(each, marks=pytest.mark.release if each in LONGEST else [])
        for each in BENCHES
    ],
)
def test_benchmark_runs_to_its_end(name):
    """A name that is gone, or a set that cannot be drawn, would stop one half-way."""
    sizes, last = BENCHES[name]
    done = subprocess.run(
        [sys.executable, "-m", name, *map(str, sizes)],
        cwd=ROOT,
        capture_output=True,
        check=False,
        encoding="utf-8",
        timeout=900,
    )
    assert done.returncode == 0, done.stderr
    assert last in done.stdout


def test_every_benchmark_is_run():
    """A new module of benchmarks is named above."""
    folder = ROOT / "tests" / "bench"
    mains = [
        p for p in folder.glob("*.py") if 'if __name__ == "__main__"' in p.read_text()
    ]
    names = {f"tests.bench.{p.stem}".removesuffix(".__main__") for p in mains}
    assert names == set(BENCHES)
