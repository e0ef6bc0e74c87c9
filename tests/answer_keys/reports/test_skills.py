"""Skills, mastery and misconceptions held, from marks made by hand."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from answer_keys.gradebook.results import ClassResult, StudentResult, graded_exercise
from answer_keys.marking.marks import ExerciseMarks, StepMark
from answer_keys.reports.draw_needs import needs_after
from answer_keys.reports.help_view import (
    held_in,
    skill_means,
    student_views,
    teach_next,
)
from answer_keys.reports.skills import SKILLS, mastery_of, showings_of, skill_marks
from tests.answer_keys.samples import sample_key

FAULTS = ("coil_open", "contacts_open", "motor_seized", "load_wire_open")
KEY = sample_key(FAULTS)


def mark(step, item, share=1.0, **more):
    """A step's mark, ten at the most."""
    return StepMark(
        step=step,
        item=item,
        title=item,
        mark=10 * share,
        out_of=10.0,
        reason="So it is.",
        **more,
    )


def exercise(number, *steps, student="s01"):
    """An exercise of a student with these marks."""
    marks = ExerciseMarks(exercise=number, steps=steps)
    return graded_exercise(KEY.of_student(student)[number], marks)


def worked(*steps, student="s01"):
    """A student whose exercises have one mark each."""
    return StudentResult(
        id=student,
        name=student,
        sheet=f"{student}.html",
        file="a.jsonl",
        exercises=tuple(
            exercise(number, each, student=student)
            for number, each in enumerate(steps, 1)
        ),
    )


def class_of(*students, history=None):
    """A graded class."""
    return ClassResult(
        set_id="k7m2q",
        mode="practice",
        students=students,
        receipts=(),
        history=history or {},
    )


def test_each_mark_shows_one_skill():
    """Predictions by what is predicted, all else by its step; lines show none."""
    steps = (
        mark("predictions", "coil_current"),
        mark("predictions", "control_display"),
        mark("choices", "stop"),
        mark("cause", "cause"),
    )
    ungraded = replace(mark("questions", "three_lines.cause"), out_of=0.0)
    found = skill_marks(exercise(1, *steps, ungraded))
    assert list(found) == ["control_current", "clamp", "choices", "cause"]


@pytest.mark.parametrize(
    ("shares", "before", "mastered"),
    [
        ((1, 1, 1, 1), (), True),
        ((1, 1, 1), (), False),
        ((1, 0, 1, 1), (True,), True),
        ((1, 0.7, 1, 0), (True, True, True), False),
        ((0.8, 0.8, 0.8, 0.8), (False,), True),
    ],
)
def test_four_of_the_last_five_tries_are_mastery(shares, before, mastered):
    """Tries of earlier sets count, and only the last five."""
    student = worked(*(mark("cause", "cause", share) for share in shares))
    assert mastery_of(student, {"cause": before})["cause"].is_mastered is mastered


def test_try_with_a_hint_is_no_try_that_went_right():
    """Who needed a hint has to show it once more without."""
    tries = [mark("choices", "coil", hints=hints) for hints in (0, 0, 1, 0)]
    one = mastery_of(worked(*tries), {})["choices"]
    assert (one.is_mastered, one.last) == (False, (True, True, False, True))
    assert one.text == "3 of the last 4"


def showing(*misconceptions):
    """Numbers that four exercises asked for, with the wrong rules that they show."""
    return worked(
        *(
            mark("predictions", "clamp_v", 0.0, misconception=each, answer="1,65 V")
            for each in misconceptions
        )
    )


@pytest.mark.parametrize(
    ("misconceptions", "held"),
    [
        (("tenth", "tenth", "tenth", ""), True),
        (("tenth", "tenth", "", ""), False),
        (("tenth", "", "", ""), False),
        (("tenth", "ten_times", "power_for_current", ""), False),
    ],
)
def test_misconception_is_held_when_it_comes_back(misconceptions, held):
    """Once is a slip; nearly always is a rule."""
    found = {one.misconception.id: one for one in showings_of(showing(*misconceptions))}
    assert found["tenth"].is_held is held
    assert found["tenth"].chances == 4
    assert found["tenth"].example.answer == "1,65 V"


def test_three_things_to_teach_are_of_three_kinds():
    """A misconception, a skill and a fault, each with how many it concerns."""
    views = student_views(class_of(showing(*["tenth"] * 4)))
    held = held_in(views)
    assert [one.misconception.id for one in held] == ["tenth"]
    assert [holder.id for holder in held[0].holders] == ["s01"]
    chosen = teach_next(views, held, ())
    assert chosen[0].what == held[0].misconception.title
    assert chosen[0].why == "1 of 1 students does so again and again"


def test_lowest_student_comes_first_with_what_is_weak():
    """Help is named by skill, the weakest first."""
    good = worked(*[mark("cause", "cause")] * 4, student="s02")
    poor = worked(mark("cause", "cause", 0.5), mark("findings", "coil", 0.1))
    first, last = student_views(class_of(good, poor))
    assert (first.student.id, first.weak) == ("s01", ("findings", "cause"))
    assert (first.needs_help, last.needs_help) == (True, False)
    assert skill_means([first, last]) == pytest.approx({"findings": 10, "cause": 75})


def test_next_set_begins_with_what_went_worst():
    """Faults not found, kinds of questions for open skills, and what is known."""
    student = worked(
        mark("cause", "cause", 0.0),
        mark("cause", "cause"),
        mark("predictions", "load_current", 0.0),
    )
    needs = needs_after(class_of(student, history={"s01": {"cause": (True,)}}))
    own = needs.of("s01")
    assert own.faults == (FAULTS[0], FAULTS[2])
    assert own.known == (FAULTS[1],)
    assert own.kinds == ("currents",)
    assert needs.history["s01"]["cause"] == (True, False, True)
    assert needs.of("somebody else") == needs.whole


def test_every_skill_says_what_it_means():
    """Heads of columns are short, and the page tells what stands behind them."""
    for skill in SKILLS.values():
        assert len(skill.title) <= 18
        assert skill.means[0].islower()
        assert skill.kinds
