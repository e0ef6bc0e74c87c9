"""Databases for the gradebook's tests."""

import os

import pytest

from tests.answer_keys.postgres import postgres_server, programs


@pytest.fixture(scope="session")
def postgres():
    """A PostgreSQL server; without one, tests are skipped, but fail in CI."""
    try:
        import psycopg  # noqa: F401 - only whether it is there
    except ImportError:
        missing = "psycopg is not installed"
    else:
        missing = None if programs() else "no PostgreSQL on this computer"
    if missing:
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(missing)
    with postgres_server() as server:
        yield server


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request, tmp_path):
    """Where a gradebook can be, once a database."""
    if request.param == "sqlite":
        return tmp_path / "gradebook.sqlite"
    return request.getfixturevalue("postgres").new_database()
