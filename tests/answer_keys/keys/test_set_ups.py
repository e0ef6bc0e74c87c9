"""What is set up is marked as the page judges it, and by what it tells."""

from dataclasses import replace
from functools import cache
from statistics import fmean

import pytest

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.belonging import _check_entry
from answer_keys.keys.answer_key import _opened, pack
from answer_keys.keys.set_ups import with_set_ups
from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.marking.visits import planned_tests, work_of
from generator.workbooks.key_records import key_record
from tests.answer_keys.marking.test_ways_of_working import guesser
from tests.answer_keys.samples import RUBRIC, worked
from tests.drawn import EACH_FAULT, IDENTITY, RADICALS, exercise
from tests.keys import page_content_of
from tests.workbook.measuring.set_ups import any_set_up, chance_of
from workbook.judging.choice_feedback import _planner
from workbook.judging.planned import standing_after
from workbook.measuring import offered
from workbook.measuring.judged import split_of
from workbook.measuring.set_up import item_of, set_up_of
from workbook.record.bench import is_code
from workbook.record.entries import ChosenTest
from workbook.record.payload import exercises_from_payload
from workbook.record.progress import ExerciseProgress, TestDone

TECHNICIANS = 200


def given_to(technician):
    """What a technician gets: all faults, and the families in turn."""
    return RADICALS[technician * len(RADICALS) // TECHNICIANS]


@cache
def both(radical):
    """Page and key of a practice exercise, each as it comes out of its seal."""
    drawn = exercise(radical)
    content = {"exercises": [page_content_of(drawn, 1, "practice")]}
    record = key_record(drawn, 1, IDENTITY, has_bench=True)
    return exercises_from_payload(content)[1], _opened(pack([record]))[1]


def random_items(page, chance, count):
    """Set-ups and tests of the list, as somebody pokes around."""
    found = []
    while len(found) < count:
        item = item_of(any_set_up(page.bench, chance), page.bench)
        if chance.random() < 0.2:
            item = chance.choice(page.tests).id
        found += [item] if item not in found else []
    return found


def done(page, items):
    """Tests done as the page says that they are right."""
    known = offered.with_set_ups(page, items).feedback.tests
    return tuple(
        TestDone(
            item=item,
            expected=known[item].sound,
            outcome=known[item].outcome,
            statement=known[item].proved_by[known[item].outcome],
        )
        for item in items
    )


@pytest.mark.parametrize(
    "numbers",
    [range(1), pytest.param(range(1, 5), marks=pytest.mark.nightly)],
    ids=["some", "many"],
)
def test_page_and_marks_say_the_same(numbers):
    """Display, words, statements, minutes, and what a choice wastes."""
    for number in numbers:
        page, record = both(EACH_FAULT[number])
        items = random_items(page, chance_of(number), 3)
        shown, marked = offered.with_set_ups(page, items), with_set_ups(record, items)
        progress = worked(record, (), record.fault.id)
        tests = done(page, items)
        path = work_of(marked, type(progress)(tests=tests)).path
        for place, visit in enumerate(path):
            own, known = shown.test(visit.test.id), shown.feedback.tests[visit.test.id]
            assert visit.test.title == own.title
            assert visit.test.minutes == own.minutes
            assert visit.test.display == own.display
            assert {*own.outcomes} <= {*visit.test.outcomes}
            told = known.outcome, known.sound, known.caution, known.is_too_near
            key = visit.test
            assert told == (
                *(key.outcome, key.sound_outcome),
                *(key.mistake, key.is_too_near),
            )
            statements = [(each.id, each.text) for each in own.statements]
            assert statements == [(each.id, each.text) for each in key.statements]
            standing = standing_after(shown, shown.feedback, tests[:place])
            planner = _planner(shown, shown.feedback, own, standing)
            wasted = planner.wasted(standing, own)
            if not planner.is_proved(standing):
                # The page speaks of tenths.
                assert wasted == pytest.approx(visit.turn.minutes_wasted, abs=0.051)


def set_up_freely(page, record, planned):
    """The items of planned tests: what can be set up is, and the rest is looked at."""
    codes = {item: code for code, item in record.bench.listed.items()}
    return [
        item_of(set_up_of(codes[test.id], page.bench), page.bench)
        if test.id in codes
        else test.id
        for test in planned
    ]


@pytest.mark.parametrize(
    "technicians",
    [
        range(0, TECHNICIANS, TECHNICIANS // 5),
        pytest.param(range(0, TECHNICIANS, 2), marks=pytest.mark.nightly),
    ],
    ids=["some", "many"],
)
def test_same_readings_earn_the_same_by_either_way(technicians):
    """A technician who sets every test up earns what the list would have earned."""
    for technician in technicians:
        page, record = both(given_to(technician))
        planned = planned_tests(record)
        items = set_up_freely(page, record, planned)
        by_list = worked(record, planned, record.fault.id)
        set_up = replace(by_list, tests=done(page, items))
        found = grade_exercise(with_set_ups(record, items), set_up, RUBRIC)
        assert found.mark == pytest.approx(grade_exercise(record, by_list, RUBRIC).mark)
        assert found.mark > 95


def poker(page, record, chance):
    """Sets up anything, reads anything into it, and concludes anything."""
    items = random_items(page, chance, chance.randint(1, 8))
    marked = with_set_ups(record, items)
    guessed = guesser(record, chance)
    tests = tuple(
        TestDone(
            item=item,
            expected=chance.choice(marked.test(item).outcomes),
            outcome=chance.choice(marked.test(item).outcomes),
            statement=chance.choice(marked.test(item).statements).id,
        )
        for item in items
    )
    poked = replace(guessed, tests=tests)
    return grade_exercise(marked, poked, RUBRIC).mark, grade_exercise(
        record, guessed, RUBRIC
    ).mark


@pytest.mark.nightly
def test_random_poking_earns_no_more_than_guessing():
    """Whoever sets up anything has as little as whoever does any test."""
    chance = chance_of("poker")
    pokers = range(0, TECHNICIANS, TECHNICIANS // 25)
    marks = [poker(*both(given_to(each)), chance) for each in pokers]
    poked, guessed = (fmean(each) for each in zip(*marks, strict=True))
    assert poked <= guessed + 1
    assert poked <= 25


def test_key_refuses_what_the_circuit_does_not_have():
    """Naming exercise and code; where there is the list alone, every code."""
    page, record = both(EACH_FAULT[0])
    whole = ChosenTest(exercise=1, item="@off volts 86 0", expected="none")
    _check_entry(whole, record)
    for code in ("@off volts 86 nowhere", "@off volts 86", "@off re=in volts 86 0"):
        wrong = ChosenTest(exercise=1, item=code, expected="none")
        with pytest.raises(RefusedError, match="cannot be put into"):
            _check_entry(wrong, record)
    with pytest.raises(RefusedError, match="does not hold"):
        _check_entry(
            ChosenTest(exercise=1, item="@off volts 86 0", expected="rosy"), record
        )
    drawn = exercise(EACH_FAULT[0])
    listed = _opened(pack([key_record(drawn, 1, IDENTITY)]))[1]
    with pytest.raises(RefusedError, match="does not hold"):
        _check_entry(whole, listed)
    assert page.bench is not None


def test_too_near_to_tell_costs_nothing():
    """Such a set-up is in no mark, and a guess after it alone is no way to marks."""
    page, record = both(EACH_FAULT[1])
    items = random_items(page, chance_of("too near"), 200)
    item = next(
        each
        for each in items
        if is_code(each) and not split_of(page.bench, each).is_sure
    )
    planned = worked(record, planned_tests(record), record.fault.id)
    more = type(planned)(
        predictions=planned.predictions,
        tests=(*done(page, [item]), *planned.tests),
        cause=planned.cause,
        correction=planned.correction,
        verification=planned.verification,
    )
    whole = grade_exercise(record, planned, RUBRIC)
    same = grade_exercise(with_set_ups(record, [item]), more, RUBRIC)
    assert len(same.steps) == len(whole.steps)
    alone = worked(record, (), record.fault.id)
    poked = type(alone)(
        predictions=alone.predictions,
        tests=done(page, [item]),
        cause=alone.cause,
        correction=alone.correction,
    )
    marked = grade_exercise(with_set_ups(record, [item]), poked, RUBRIC)
    by_step = {step.step: step.mark for step in marked.steps}
    assert (by_step["choices"], by_step["findings"]) == (0, 0)


@pytest.mark.parametrize(
    ("code", "is_too_near"),
    [
        ("@normal lf=out clamp control_return 10", True),
        ("@test lf=lead re=out volts supply pin_85", False),
    ],
    ids=["too near an edge", "leads on what floats"],
)
def test_fuse_that_is_seen_tells_where_the_reading_does_not(code, is_too_near):
    """Whole, it is ruled out and cleared for page and marks alike."""
    page, record = both(EACH_FAULT[0])
    shown, marked = offered.with_set_ups(page, [code]), with_set_ups(record, [code])
    known = shown.feedback.tests[code]
    (visit,) = work_of(marked, done_alone(code)).path
    assert (known.is_too_near, visit.test.is_too_near) == (is_too_near, is_too_near)
    assert known.outcome == visit.test.outcome == "proves nothing, fuse whole"
    faults = [fault.id for fault in record.reasoning.faults]
    left = {faults[number] for number in visit.after.candidates}
    assert "load_fuse_open" not in left
    assert len(known.fits) == len(left) < len(faults)
    statement = shown.test(code).statement(known.proved_by[known.outcome])
    assert statement.cleared == ("load_fuse",)
    assert visit.test.statement == statement.id


def done_alone(code):
    """A set-up as the only thing done; what is said of it is of no matter."""
    test = TestDone(item=code, expected="none", outcome="none", statement="s1")
    return ExerciseProgress(tests=(test,))
