"""Settings that all tests share."""

import os
from tempfile import TemporaryDirectory

from hypothesis import settings

import generator  # noqa: F401 - sets NumPy's threads before any test imports it
from tests.writing.kept import FOLDER

# Same examples on every run and machine; FAST=1 draws fewer of them.
settings.register_profile(
    "full", derandomize=True, deadline=None, database=None, max_examples=40
)
settings.register_profile("fast", settings.get_profile("full"), max_examples=15)
settings.load_profile("fast" if os.environ.get("FAST") == "1" else "full")


def pytest_configure(config):
    """Give the processes that share a run a folder for what they draw."""
    if config.getoption("numprocesses", None) and FOLDER not in os.environ:
        folder = TemporaryDirectory(prefix="clampbook-tests-")
        os.environ[FOLDER] = folder.name
        config.add_cleanup(folder.cleanup)
