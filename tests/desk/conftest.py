"""One desk for all tests that only ask it, with a set in it."""

import pytest

from generator.drawing.request import Request, Student
from generator.sets.set_writing import write_class_set
from tests.desk.running import Client, running_desk
from tests.drawn import SECRET

SET = "week 3"


@pytest.fixture(scope="session")
def desk(tmp_path_factory):
    """A desk that runs, with one set of two students."""
    sets = tmp_path_factory.mktemp("sets")
    students = (Student(id="ada", name="Ada Almer"), Student(id="bo", name="Bo Dorn"))
    request = Request(
        lessons=("mixed-diagnosis",), students=students, exercises=1, mode="graded"
    )
    write_class_set(sets / SET, request, secret=SECRET)
    with running_desk(sets, tmp_path_factory.mktemp("home")) as (process, page):
        yield process, page, sets


@pytest.fixture
def stranger(desk):
    """Somebody who knows where the desk is, and not its token."""
    client = Client(desk[1])
    client.token = ""
    return client


@pytest.fixture
def instructor(desk):
    """The page in the instructor's browser."""
    return Client(desk[1]).open()
