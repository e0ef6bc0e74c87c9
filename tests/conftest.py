"""Settings that all tests share."""

import os
from tempfile import TemporaryDirectory

from hypothesis import settings
from xdist.scheduler import LoadGroupScheduling

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


class _ByGroupOrFile(LoadGroupScheduling):
    """Gives one process all tests of a group, and else all of a file."""

    def _split_scope(self, nodeid):
        scope = super()._split_scope(nodeid)
        return nodeid.split("::")[0] if scope == nodeid else scope


def pytest_xdist_auto_num_workers():
    """How many processes share a run with ``-n auto``."""
    return (os.cpu_count() or 1) + WAITING


def pytest_xdist_make_scheduler(config, log):
    """Keep together what shares its fixtures."""
    return _ByGroupOrFile(config, log)


def pytest_configure(config):
    """Give the processes that share a run a folder for what they draw."""
    if config.getoption("numprocesses", None) and FOLDER not in os.environ:
        folder = TemporaryDirectory(prefix="clampbook-tests-")
        os.environ[FOLDER] = folder.name
        config.add_cleanup(folder.cleanup)
