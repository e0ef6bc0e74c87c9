"""What a test needs and a computer may lack: programs, and libraries of extras."""

import importlib
import os

import pytest


def stop(reason):
    """Skip the test, or fail it in CI, where everything has to be there."""
    (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(reason)


def library(name):
    """A library, or an end of the test where it, or what it is built on, is absent."""
    try:
        return importlib.import_module(name)
    except (ImportError, OSError) as error:
        stop(f"{name} cannot be imported: {error}")
