"""Class sets that the tests of a week share with those of the command."""

import pytest

from generator.week.opened import opened_set
from tests.cli.conftest import (  # noqa: F401 - fixtures
    graded,
    graded_once,
    graded_set,
    no_passphrase,
    own,
    read_here,
)


@pytest.fixture
def opened(own):  # noqa: F811 - the fixture
    """A graded set of two students, handed in and not graded yet."""
    return opened_set(own)


@pytest.fixture
def reported(graded):  # noqa: F811 - the fixture
    """The same, graded."""
    return opened_set(graded)
