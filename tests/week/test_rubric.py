"""A rubric is written as it is read, and its effect told before it is kept."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from answer_keys.errors import RubricError
from generator.week import rubric as rubrics
from generator.week.marking import grade
from generator.week.reporting import result_of
from generator.week.rubric import effect_of, keep_rubric, rubric_of
from tests.cli.command import files_below


@pytest.fixture(autouse=True)
def read_in_this_process(monkeypatch):
    """Each other process takes a second; both give the same."""
    monkeypatch.setattr(
        rubrics, "mark_in_processes", lambda marker, folder: marker.marked_in(folder)
    )


def with_deadline(rubric):
    """The same with a deadline that all have missed."""
    policy = replace(
        rubric.policy,
        deadline=datetime(2020, 12, 1, 18, tzinfo=UTC),
        late_percent_per_day=0.5,
        late_percent_at_most=25.0,
        counts="best",
    )
    weights = {**rubric.weights, "choices": 12.5}
    return replace(rubric, policy=policy, weights=weights, method=rubric.method[2:])


def test_rubric_is_read_as_it_was_written(opened):
    """Weights, policy and method."""
    wanted = with_deadline(rubric_of(opened.class_set))
    keep_rubric(opened.class_set, wanted)
    assert rubric_of(opened.class_set) == wanted


def test_rubric_that_is_none_is_refused_and_the_old_one_stays(opened):
    """A weight below nothing is no weight."""
    before = rubric_of(opened.class_set)
    with pytest.raises(RubricError, match="cause"):
        keep_rubric(
            opened.class_set, replace(before, weights={**before.weights, "cause": -1.0})
        )
    assert rubric_of(opened.class_set) == before


def test_effect_is_told_before_and_comes_true(reported):
    """What grading gives afterwards is what was told, and telling changes nothing."""
    wanted = with_deadline(rubric_of(reported.class_set))
    before = files_below(reported.class_set.folder)
    changes = effect_of(reported, wanted)
    assert files_below(reported.class_set.folder) == before
    totals = {one.id: one.total for one in result_of(reported).students}
    keep_rubric(reported.class_set, wanted)
    grade(reported)
    after = {one.id: one.total for one in result_of(reported).students}
    assert [(c.student, c.before, c.after) for c in changes] == [
        (id_, pytest.approx(totals[id_]), pytest.approx(after[id_])) for id_ in totals
    ]


def test_same_rubric_changes_nobody(reported):
    """Nobody is named whose marks stay."""
    assert effect_of(reported, rubric_of(reported.class_set)) == ()
