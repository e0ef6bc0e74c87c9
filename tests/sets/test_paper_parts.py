"""The paper of a large class comes in parts, that of a usual one in one piece."""

from pathlib import Path

import pytest

from generator.drawing.request import Request
from generator.sets.class_set import ClassSet
from generator.sets.paper_parts import paper_parts
from generator.sets.roster import invented_roster


def parts_of(students, exercises):
    """The parts of a set that is not written."""
    request = Request(
        lessons=("mixed-diagnosis",),
        students=invented_roster(students),
        exercises=exercises,
        mode="graded",
    )
    made = ClassSet(folder=Path("set"), set_id="abcd", request=request)
    return list(paper_parts(made))


@pytest.mark.parametrize(
    ("students", "exercises", "sizes"),
    [
        (1, 200, [1]),
        (30, 4, [30]),
        (31, 1, [16, 15]),
        (24, 17, [6, 6, 6, 6]),
        (61, 1, [21, 21, 19]),
    ],
)
def test_parts_are_alike_and_none_is_large(students, exercises, sizes):
    """As many as a class in a school has, and fewer where each has many exercises."""
    parts = parts_of(students, exercises)
    assert [len(part.students) for part in parts] == sizes
    everybody = [one for part in parts for one in part.students]
    assert everybody == list(invented_roster(students))


def test_files_of_one_part_have_no_number():
    """A usual class has what it always had."""
    [part] = parts_of(12, 4)
    assert part.slips_file.name == "reading-slips.html"
    assert part.guide_file.name == "teachers-guide.html"
    assert part.table_file.name == "typed-answers.csv"
    assert part.span is None


def test_files_of_many_parts_are_listed_in_their_order():
    """Numbers are filled up, so that 10 stands behind 9."""
    parts = parts_of(300, 1)
    names = [part.slips_file.name for part in parts]
    assert names == sorted(names)
    assert names[::9] == ["reading-slips-01.html", "reading-slips-10.html"]
    assert parts[1].span == ("s031", "s060")
