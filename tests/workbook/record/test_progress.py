"""The fold over journal entries."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from tests.workbook.strategies import entries
from workbook.record.entries import step_from
from workbook.record.progress import (
    HINT_COSTS,
    Answer,
    ExerciseProgress,
    Given,
    TestDone,
    after,
    begin,
    hint_cost,
    replay,
)


def _entry(kind, item, **fields):
    return step_from({"exercise": 1, "kind": kind, "item": item, **fields})


PREDICTED = _entry("prediction", "p", raw="1 A", value=1, unit="A", time="T")
TESTED = _entry("test", "t1", expected="none")
FOUND = _entry("finding", "t1", outcome="low", statement="s1")
CONCLUDED = _entry("conclusion", "conclusion", cause="c01", correction="r01")
VERIFIED = _entry("verification", "v", raw="2 A", value=2.0, unit="A")


def test_whole_exercise_is_folded():
    """A whole exercise in order gives everything that was recorded."""
    done = replay([PREDICTED, TESTED, FOUND, CONCLUDED, VERIFIED])[1]
    assert done == ExerciseProgress(
        predictions={"p": Answer(raw="1 A", value=1.0, unit="A")},
        tests=(TestDone(item="t1", expected="none", outcome="low", statement="s1"),),
        cause="c01",
        correction="r01",
        verification=Answer(raw="2 A", value=2.0, unit="A"),
    )
    assert done.predictions["p"].time == "T"


def test_last_way_counts_and_begins_where_the_first_began():
    """Once more from the start: what was given is there again, and the note stays."""
    given_ = Given(tests=(TestDone(item="t0", expected="none"),))
    start = begin(given_)
    given_found = _entry("finding", "t0", outcome="low", statement="s1")
    once_more, note = (
        _entry("restart", "exercise"),
        _entry("note", "exercise", text="F1"),
    )
    first = [given_found, note, TESTED, FOUND, CONCLUDED]
    done = replay([*first, once_more], {1: start})[1]
    assert done == replace(start, restarts=1, note="F1")
    again = replay([*first, once_more, given_found], {1: start})[1]
    assert again.tests[0].outcome == "low"
    assert again.cause is None
    twice = replay([*first, once_more, once_more, *first], {1: start})[1]
    assert twice == replace(replay(first, {1: start})[1], restarts=1)


def test_later_note_takes_the_place_of_the_earlier_one():
    """Nothing else hangs on it."""
    notes = [_entry("note", "exercise", text=text) for text in ("F1", "F2")]
    done = replay([PREDICTED, notes[0], TESTED, notes[1], FOUND])[1]
    assert done == replace(replay([PREDICTED, TESTED, FOUND])[1], note="F2")
    assert after(done, notes[1]) is done


def test_second_recording_is_ignored():
    """Of two recordings of one thing, as by two windows, the first counts."""
    second = replace(PREDICTED, value=9.0)
    concluded_again = replace(CONCLUDED, cause="c02")
    steps = [PREDICTED, second, TESTED, TESTED, FOUND, replace(FOUND, outcome="high")]
    done = replay([*steps, CONCLUDED, concluded_again, VERIFIED, VERIFIED])[1]
    assert done == replay([PREDICTED, TESTED, FOUND, CONCLUDED, VERIFIED])[1]


def test_steps_out_of_turn_are_ignored():
    """What comes before its turn changes nothing."""
    start = ExerciseProgress()
    for early in (FOUND, CONCLUDED, VERIFIED):
        assert after(start, early) is start
    waiting = after(start, TESTED)
    for early in (PREDICTED, _entry("test", "t2", expected="none"), CONCLUDED):
        assert after(waiting, early) is waiting


def test_hints_count_for_the_next_choice():
    """Hints in order stand with the test chosen after them, the last with the end."""
    hints = [_entry("hint", "choice", step=step) for step in (1, 2, 2, 1, 3)]
    done = replay([*hints, TESTED, hints[0], FOUND, hints[0], CONCLUDED, hints[1]])[1]
    assert (done.tests[0].hints, done.hints) == (3, 1)


def test_each_hint_costs_more():
    """None costs nothing, and all of them cost the whole mark of the choice."""
    costs = [hint_cost(hints) for hints in range(len(HINT_COSTS) + 1)]
    assert costs == sorted(set(costs))
    assert (costs[0], costs[-1]) == (0, 1)


@given(given=st.lists(entries, max_size=6), steps=st.lists(entries, max_size=20))
def test_given_steps_are_never_recorded_again(given, steps):
    """Whatever a journal says of them, they stay as they were done beforehand."""
    folded = replay([replace(step, exercise=1) for step in given]).get(
        1, ExerciseProgress()
    )
    start = begin(Given(predictions=folded.predictions, tests=folded.tests))
    done = replay([replace(step, exercise=1) for step in steps], {1: start})[1]
    kept = start.tests[:-1]  # the finding of the last may be the student's
    assert done.tests[: len(kept)] == kept
    assert start.predictions.items() <= done.predictions.items()
    assert done.given_predictions == start.predictions.keys()
    own = {test.item for test in done.own_tests}
    assert not own & {test.item for test in start.tests}


def test_nothing_is_given_without_a_start():
    """Every test is the student's own."""
    done = replay([TESTED, FOUND])[1]
    assert (done.given_predictions, done.own_tests) == (frozenset(), done.tests)


@given(steps=st.lists(entries, max_size=20), cut=st.integers(0, 20))
def test_replay_of_a_prefix_is_the_fold_of_that_prefix(steps, cut):
    """Stopping and going on later gives the same as never stopping."""
    state = replay(steps[:cut])
    for step in steps[cut:]:
        number = step.exercise
        state[number] = after(state.get(number, ExerciseProgress()), step)
    assert state == replay(steps)


@given(steps=st.lists(entries, max_size=20))
def test_ignored_steps_could_be_left_out(steps):
    """Steps that the fold ignores leave no trace."""
    taken, state = [], {}
    for step in steps:
        before = state.get(step.exercise, ExerciseProgress())
        state[step.exercise] = after(before, step)
        if state[step.exercise] is not before:
            taken.append(step)
    assert replay(taken) == {
        key: each for key, each in state.items() if each != ExerciseProgress()
    }
