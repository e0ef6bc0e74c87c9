"""Records, progress and rubrics for property tests."""

from hypothesis import strategies as st

from answer_keys.marking.policy import Rubric
from answer_keys.marking.rubric import STEPS
from tests.answer_keys.samples import IDS, sample_record
from workbook.record.progress import Answer, ExerciseProgress, TestDone


@st.composite
def progresses(draw):
    """A record and any progress that the form allows in it."""
    record = sample_record(draw(st.sampled_from(IDS)))
    asked = draw(st.lists(st.sampled_from(record.predictions), unique=True))
    answers = st.floats(0, 50).map(lambda v: Answer(raw=f"{v} A", value=v, unit="A"))
    tests = draw(st.lists(st.sampled_from(record.tests), unique=True))
    done = tuple(
        TestDone(
            item=test.id,
            expected=draw(st.sampled_from(test.outcomes)),
            outcome=draw(st.sampled_from(test.outcomes)),
            statement=draw(st.sampled_from(test.statements)).id,
            hints=draw(st.integers(0, 3)),
        )
        for test in tests
    )
    concluded = draw(st.booleans())
    return record, ExerciseProgress(
        predictions={key.id: draw(answers) for key in asked},
        tests=done,
        cause=draw(st.sampled_from(record.causes)).id if concluded else None,
        correction=draw(st.sampled_from(record.corrections)).id if concluded else None,
        verification=draw(answers) if concluded else None,
        hints=draw(st.integers(0, 3)),
    )


rubrics = st.fixed_dictionaries(dict.fromkeys(STEPS, st.floats(0, 100))).map(
    lambda weights: Rubric(weights=weights)
)
