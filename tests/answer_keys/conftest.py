"""Databases for the gradebook's tests."""

import pytest

from tests.absent import library, stop
from tests.answer_keys.pictures import drawn_once
from tests.answer_keys.postgres import postgres_server, programs


@pytest.fixture(scope="session")
def postgres():
    """A PostgreSQL server; without one, tests are skipped, but fail in CI."""
    library("psycopg")
    if not programs():
        stop("no PostgreSQL on this computer")
    with postgres_server() as server:
        yield server


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request, tmp_path):
    """Where a gradebook can be, once a database."""
    if request.param == "sqlite":
        return tmp_path / "gradebook.sqlite"
    return request.getfixturevalue("postgres").new_database()


@pytest.fixture(scope="module", autouse=True)
def pictures_once():
    """Draw no picture of a report twice."""
    with drawn_once():
        yield
