"""What the page says of a choice of a test."""

from tests.drawn import EACH_FAULT, exercise
from tests.keys import page_content_of
from workbook.judging.choice_feedback import _Choice, _why_nothing
from workbook.judging.planned import Standing, planner_of
from workbook.record.payload import exercises_from_payload


def test_one_cause_is_spoken_of_as_one():
    """Before anything abnormal was seen a test may leave the one that there is."""
    content = page_content_of(exercise(EACH_FAULT[0]), 1, "practice")
    page = exercises_from_payload({"exercises": [content]})[1]
    told = [
        _why_nothing(
            _Choice(
                planner=planner_of(page, page.feedback),
                test=page.tests[0],
                earlier=(),
                standing=Standing(
                    left=frozenset(cause.id for cause in page.causes[:count]),
                    open=frozenset(),
                    has_seen=False,
                ),
            )
        )
        for count in (1, 2)
    ]
    assert told[0] == "The one cause that was still possible gives this reading anyway."
    assert told[1].startswith("Both causes that were still possible")
