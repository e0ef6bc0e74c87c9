"""Settings that all tests share."""

import os
from tempfile import TemporaryDirectory

from hypothesis import settings
from xdist.scheduler import LoadScopeScheduling

import generator  # noqa: F401 - sets NumPy's threads before any test imports it
from tests.kept import FOLDER

# Same examples on every run and machine; FAST=1 draws fewer of them.
settings.register_profile(
    "full", derandomize=True, deadline=None, database=None, max_examples=40
)
settings.register_profile("fast", settings.get_profile("full"), max_examples=15)
settings.load_profile("fast" if os.environ.get("FAST") == "1" else "full")


# Tests of browsers and servers wait most of the time: others run meanwhile.
WAITING = 2


# Files whose tests take the same server or site. They are told by their names, since
# what xdist adds to a test's name for its own groups is lost with pytest 9.
TOGETHER = {
    "tests/browser/test_accessibility.py": "every kind",
    "tests/browser/test_kinds.py": "every kind",
    "tests/browser/test_one_page.py": "every kind",
    "tests/browser/test_class_set.py": "lab",
    "tests/browser/test_exercise.py": "lab",
    "tests/browser/test_trouble.py": "lab",
    "tests/browser/test_firefox.py": "site",
    "tests/browser/test_kills.py": "site",
    "tests/browser/test_others.py": "site",
    "tests/browser/test_site.py": "site",
}
# What takes longest is begun first, so that no process is left with it at the end; what
# shares nothing is done by whoever is free.
LONGEST = (
    "tests/browser/test_desk_week.py",
    "tests/test_benches.py",
    "tests/classes/test_cluster.py",
    "tests/desk/test_jobs.py",
    "tests/grading/test_kills.py",
    "tests/drawing/test_plans.py",
    "tests/browser/test_marks.py",
    "tests/paper/test_labels_in_pdf.py",
    "tests/grading/test_memory.py",
    "tests/drawing/test_whole_course.py",
    "tests/reference/test_smart_switches.py",
)
APART = frozenset(LONGEST[:4])


class _ByGroupOrFile(LoadScopeScheduling):
    """Gives one process all tests of files that go together, and mostly of a file."""

    def _split_scope(self, nodeid):
        file = nodeid.split("::")[0]
        return nodeid if file in APART else TOGETHER.get(file, file)


def pytest_xdist_auto_num_workers():
    """How many processes share a run with ``-n auto``."""
    return (os.cpu_count() or 1) + WAITING


def pytest_xdist_make_scheduler(config, log):
    """Keep together what shares its fixtures."""
    return _ByGroupOrFile(config, log)


def pytest_collection_modifyitems(items):
    """Put the longest first."""
    places = {file: place for place, file in enumerate(LONGEST)}
    items.sort(key=lambda item: places.get(item.nodeid.split("::")[0], len(LONGEST)))


def pytest_configure(config):
    """Give the processes that share a run a folder for what they draw."""
    if config.getoption("numprocesses", None) and FOLDER not in os.environ:
        folder = TemporaryDirectory(prefix="clampbook-tests-")
        os.environ[FOLDER] = folder.name
        config.add_cleanup(folder.cleanup)
