"""Invented students work as their kind does, through the real journal."""

import json
import random
import statistics
from collections import Counter
from functools import cache
from itertools import pairwise

import pytest

from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.marking.finding_marks import judged_findings
from answer_keys.marking.rubric import rubric_from_text, rubric_text
from answer_keys.marking.visits import planned_tests, visits
from generator.drawing.stream import Stream
from generator.invented.cohort import hand_in_of, work
from generator.invented.kinds import KINDS, InventedStudent, invented_students
from tests.drawn import SECRET, workbooks
from tests.keys import answer_key_of, key_content_of, plan_of, whole_of
from workbook.record.progress import ExerciseProgress, TestDone, replay

HEADER = {"set_id": "abcd2345", "edition": 1, "mode": "graded"}
RUBRIC = rubric_from_text(rubric_text())
A_KIND = 50


@cache
def records():
    """The key records of one student, as they come out of the seal."""
    numbered = enumerate(workbooks("graded")[0].exercises, start=1)
    identity = {"set_id": HEADER["set_id"], "student": "s01"}
    return [
        key_content_of(each, number, {**identity, "lesson": "mixed-diagnosis"})
        for number, each in numbered
    ]


@cache
def whole():
    """The same records."""
    return [whole_of(content) for content in records()]


def handed_in(kind, label="cohort"):
    """Name, bytes and entries of what a student of a kind hands in."""
    student = InventedStudent(id="s01", kind=kind, slip_frac=KINDS[kind].slip_frac[1])
    name, data = hand_in_of(student, whole(), HEADER, Stream(SECRET.value, label))
    return name, data, [json.loads(line) for line in data.decode().splitlines()[2:]]


def record_of(entry):
    """The key record of the exercise that an entry is about."""
    return records()[entry["exercise"] - 1]


@cache
def cohort_marks():
    """Marks of a cohort of 200: by kind one list of exercises a student."""
    content = {**HEADER, "format": 1, "exercises": records()}
    keys = tuple(answer_key_of(content).exercises)
    stream = Stream(SECRET.value, "cohort of 200")
    ids = [f"s{number:03}" for number in range(len(KINDS) * A_KIND)]
    marks = {kind: [] for kind in KINDS}
    for student in invented_students(ids, tuple(KINDS), stream):
        marks[student.kind].append(
            [
                grade_exercise(
                    key,
                    replay(work(whole_of(record), student, stream))[key.exercise],
                    RUBRIC,
                )
                for record, key in zip(whole(), keys, strict=True)
            ]
        )
    return marks


def shares(kind):
    """Share of all marks that each student of a kind gets."""
    return [
        sum(one.mark for one in exercises) / sum(one.out_of for one in exercises)
        for exercises in cohort_marks()[kind]
    ]


def test_experts_of_a_cohort_get_at_least_95_percent():
    """Who follows the plan and makes no slip is never marked down."""
    assert len(shares("expert")) == A_KIND
    assert min(shares("expert")) >= 0.95


def test_random_guessers_of_a_cohort_get_at_most_25_percent():
    """Doing anything at random is worth a quarter of the marks at the most."""
    assert statistics.fmean(shares("guesser")) <= 0.25


def test_order_of_skill_is_the_order_of_mean_marks():
    """Guesser, relay replacer, novice, expert: each clearly above the one before."""
    means = [statistics.fmean(shares(kind)) for kind in KINDS]
    assert list(KINDS) == ["guesser", "relay-replacer", "novice", "expert"]
    assert all(low + 0.05 < high for low, high in pairwise(means))


def test_no_path_to_a_wrong_cause_gets_more_than_60_percent():
    """However well the rest was done, whoever names a wrong cause stays below."""
    wrong = [
        one.mark / one.out_of
        for students in cohort_marks().values()
        for exercises in students
        for one in exercises
        if any(step.step == "cause" and not step.mark for step in one.steps)
    ]
    assert len(wrong) > A_KIND
    assert max(wrong) <= 0.6


def any_statement(test, chance):
    """Click anything."""
    return chance.choice(test.statements)


def narrowest(test, _):
    """Accuse as few sections as the list allows."""
    return min(
        (each for each in test.statements if each.suspect),
        key=lambda each: len(each.suspect),
    )


def right_outcome(test, _):
    """Read well."""
    return test.outcome


def any_outcome(test, chance):
    """Say that it reads anything."""
    return chance.choice(test.outcomes)


def is_planned(record, _):
    """Choose well."""
    return planned_tests(record)


def any_five(record, chance):
    """Choose badly, and far too many."""
    return chance.sample(record.tests, 5)


def statement_shares(record, ways, chance):
    """Share of its mark that each statement of one exercise keeps."""
    choose, read, say = ways
    tests = choose(record, chance)
    done = [
        TestDone(
            item=test.id,
            expected=test.sound_outcome,
            outcome=read(test, chance),
            statement=say(test, chance).id,
        )
        for test in tests
    ]
    path = visits(record, ExerciseProgress(tests=tuple(done)))
    for visit, judged in judged_findings(record, path):
        yield 3 * judged.share - 1 - (visit.done.outcome == visit.test.outcome)


@pytest.mark.parametrize("say", [any_statement, narrowest])
@pytest.mark.parametrize("read", [right_outcome, any_outcome])
@pytest.mark.parametrize("choose", [is_planned, any_five])
def test_neither_chance_nor_a_habit_earns_statements(choose, read, say):
    """Clicking at random or always accusing one part is worth a fifth at the most."""
    chance = random.Random(3)
    shares = [
        share
        for record in whole() * 40
        for share in statement_shares(record, (choose, read, say), chance)
    ]
    assert statistics.fmean(shares) <= 0.2


def test_slips_of_novices_cost_marks():
    """Within a kind, too, who slips more often gets less."""
    careful, careless = (
        statistics.fmean(
            mark.mark
            for number in range(20)
            for mark in graded_alone("novice", slip_frac, f"slips {number}")
        )
        for slip_frac in (0.02, 0.4)
    )
    assert careful > careless + 10


def graded_alone(kind, slip_frac, label):
    """Marks of one student's exercises, graded in memory."""
    content = {**HEADER, "format": 1, "exercises": records()}
    student = InventedStudent(id="s01", kind=kind, slip_frac=slip_frac)
    stream = Stream(SECRET.value, label)
    for record, key in zip(records(), answer_key_of(content).exercises, strict=True):
        progress = replay(work(whole_of(record), student, stream))[key.exercise]
        yield grade_exercise(key, progress, RUBRIC)


def test_hand_in_is_that_of_the_set_and_the_student():
    """Name and header tell whose work it is."""
    name, data, _ = handed_in("novice")
    first, second = map(json.loads, data.decode().splitlines()[:2])
    assert name == "hand-in-abcd2345-s01.jsonl"
    assert (first["kind"], second["kind"]) == ("hand-in", "journal")
    assert (first["student"], first["mode"]) == ("s01", "graded")


def test_same_stream_gives_the_same_class():
    """Numbers, choices and conclusions hang on the stream alone."""
    first, again, other = (handed_in("novice", label)[2] for label in ("a", "a", "b"))
    numbers = [entry.get("raw") for entry in first]
    assert numbers == [entry.get("raw") for entry in again]
    assert numbers != [entry.get("raw") for entry in other]


def test_kinds_are_dealt_out_in_turn():
    """A kind named twice comes twice as often, each with slips in its range."""
    ids = [f"s{number}" for number in range(30)]
    kinds = ("novice", "novice", "expert")
    made = invented_students(ids, kinds, Stream(bytes(32)))
    assert [student.id for student in made] == ids
    assert Counter(student.kind for student in made) == {"novice": 20, "expert": 10}
    for student in made:
        low, high = KINDS[student.kind].slip_frac
        assert low <= student.slip_frac <= high
    assert len({s.slip_frac for s in made if s.kind == "novice"}) == 20


@pytest.mark.parametrize("slip_frac", [-0.1, 1.1])
def test_share_of_slips_outside_of_its_range_is_refused(slip_frac):
    """A share of steps is from 0 to 1."""
    with pytest.raises(ValueError, match="Give 0 to 1"):
        InventedStudent(id="s01", kind="novice", slip_frac=slip_frac)


@pytest.mark.parametrize("kind", KINDS)
def test_every_exercise_is_worked_from_end_to_end(kind):
    """Whatever the kind, no step that the page asks for is left out."""
    entries = handed_in(kind)[2]
    for number, record in enumerate(records(), start=1):
        kinds = [e["kind"] for e in entries if e["exercise"] == number]
        asked = len(record["predictions"])
        tests = kinds[asked:-2]
        assert kinds[:asked] == ["prediction"] * asked
        assert kinds[-2:] == ["conclusion", "verification"]
        assert tests == ["test", "finding"] * (len(tests) // 2)
        assert tests


def test_expert_follows_the_plan():
    """The tests of a student without a slip are those of the least-cost plan."""
    entries = handed_in("expert")[2]
    for number, record in enumerate(records(), start=1):
        plan = plan_of(record["reasoning"])
        left, planned = plan.start, []
        while (test := plan.best_test(left)) is not None:
            planned.append(record["tests"][test]["id"])
            left = plan.after(left, test, record["tests"][test]["outcome"])
        chosen = [e["item"] for e in entries if e["exercise"] == number]
        assert chosen[len(record["predictions"]) : -2 : 2] == planned


def test_relay_replacer_begins_with_a_new_relay():
    """Where no slip comes between, and there is one: then it is the first of all."""
    student = InventedStudent(id="s01", kind="relay-replacer", slip_frac=0.0)
    stream = Stream(SECRET.value, "habit")
    for record in records():
        tests = [e for e in work(whole_of(record), student, stream) if e.kind == "test"]
        has_relay = any(t["id"] == "load_current_new_relay" for t in record["tests"])
        assert (tests[0].item == "load_current_new_relay") == has_relay


def test_careful_novice_does_no_test_that_can_tell_nothing():
    """Without a slip, each test tells causes apart, or what is left for certain."""
    student = InventedStudent(id="s01", kind="novice", slip_frac=0.0)
    for record in whole():
        state = record.plan.start
        for entry in work(record, student, Stream(SECRET.value, "care")):
            if entry.kind == "test":
                test = record.test_number(entry.item)
                assert test in record.plan.helping(state)
                state = record.plan.after(state, test, record.tests[test].outcome)


def test_numbers_are_typed_as_students_type_them():
    """Decimal points and commas both come, always with a unit."""
    entries = [entry for kind in KINDS for entry in handed_in(kind)[2]]
    raws = [entry["raw"] for entry in entries if "raw" in entry]
    assert any("," in raw for raw in raws)
    assert any("." in raw for raw in raws)
    assert all(raw.endswith(("A", "V")) for raw in raws)


def test_wrong_numbers_are_those_of_wrong_rules():
    """Who guesses writes the right number, or that of a known misconception."""
    for entry in handed_in("guesser")[2]:
        if "raw" in entry:
            asked = [*record_of(entry)["predictions"], record_of(entry)["verification"]]
            answer = next(one for one in asked if one["id"] == entry["item"])
            values = [one["value"] for one in (answer, *answer["misconceptions"])]
            assert any(entry["value"] == pytest.approx(v, rel=0.005) for v in values)


@pytest.mark.parametrize("kind", KINDS)
def test_no_test_is_done_twice(kind):
    """Each test comes once at most, as the page has it."""
    entries = handed_in(kind)[2]
    done = [(e["exercise"], e["item"]) for e in entries if e["kind"] == "test"]
    assert len(set(done)) == len(done)
