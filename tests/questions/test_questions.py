"""What else is asked of a drawn circuit: right by the model, by hand, in marks."""

import math
import re
from collections import defaultdict
from dataclasses import replace
from functools import cache
from itertools import product
from typing import get_args

import pytest

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.belonging import check_belongs
from answer_keys.hand_ins.hand_in import read_hand_in
from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.marking.rubric import rubric_from_text, rubric_text
from answer_keys.misconceptions import MISCONCEPTIONS
from answer_keys.reports.skills import _BY_KIND, SKILLS
from generator.checking.exercise_check import problems_of_exercise
from generator.drawing.exercise_draw import new_exercise
from generator.drawing.stream import Stream
from generator.invented.cohort import hand_in_of
from generator.invented.kinds import InventedStudent
from generator.model.solving import solve
from generator.model.variant import Variant
from generator.questions.asked import KIND_TITLES, questions_of
from generator.questions.question import choice_of, mixed, wrong
from generator.questions.reasons import GROUPS, TURN_OFF, reason_question
from generator.questions.write_up import _beside
from generator.workbooks.notebook import _exercise_cells
from lessons.schema import ExerciseKind
from tests.drawn import BOOK, IDENTITY, PLAIN, RADICALS, SECRET
from tests.keys import answer_key_of, key_content_of, page_content_of, whole_of
from workbook.judging.questions import judge_reply
from workbook.record.entries import ChoiceAnswer
from workbook.record.payload import exercises_from_payload
from workbook.record.progress import Reply, replay
from workbook.texts import ENGLISH, speaking

KINDS = tuple(KIND_TITLES)
BY_FAULT = {f"{r.family} {r.fault}": r for r in RADICALS if r.variant == PLAIN}
RADICAL = BY_FAULT["wiper-heater contacts_resistance"]
HEADER = {"set_id": IDENTITY["set_id"], "edition": 1, "mode": "graded"}
RUBRIC = rubric_from_text(rubric_text())
ORDERED = choice_of("x", "?", ("right", "why"), [wrong(n, "no") for n in "abc"])
for_each_kind = pytest.mark.parametrize("kind", KINDS)


@cache
def drawn():
    """One drawn circuit, asked in every way."""
    return new_exercise(BOOK, RADICAL, SECRET.value, ("s01", "questions"))


def of_kind(kind):
    """That circuit as an exercise of a kind."""
    return replace(drawn(), radical=replace(RADICAL, kind=kind))


def asked(kind):
    """Its questions by id."""
    return {question.id: question for question in questions_of(of_kind(kind))}


def key_of(kind, mode="graded"):
    """The answer key that holds this exercise alone."""
    record = key_content_of(of_kind(kind), 1, IDENTITY)
    content = {"format": 1, **HEADER, "mode": mode, "exercises": [record]}
    return answer_key_of(content), record


def right_label(question):
    """The words of a choice's right option."""
    [option] = question.right
    return option.label


def handed_in(record, skill=1.0):
    """What a student of a skill hands in of one exercise."""
    student = InventedStudent(id="s01", kind="novice", slip_frac=1 - skill)
    name, data = hand_in_of(
        student, [whole_of(record)], HEADER, Stream(bytes(32), skill)
    )
    return read_hand_in(name, data)


def test_kinds_are_those_that_lessons_may_name():
    """A lesson can ask for every kind, and for the diagnosis."""
    assert {"diagnosis", *KINDS} == set(get_args(ExerciseKind))


@for_each_kind
def test_kind_shows_a_skill_that_it_can_practise(kind):
    """Else no report tells of it, and no set that comes after asks for it."""
    skill = _BY_KIND.get(kind) or {"currents": "load_current", "write-up": None}[kind]
    assert skill is None or kind in SKILLS[skill].kinds


@for_each_kind
def test_page_asks_and_has_nothing_of_a_diagnosis(kind):
    """Three to five questions with ids of their own; the other lists are empty."""
    page = page_content_of(of_kind(kind), 1, "graded")
    ids = [question["id"] for question in page["questions"]]
    assert 3 <= len(set(ids)) == len(ids) <= 5
    assert not (page["tests"])
    assert not (page["causes"])
    assert not (page["predictions"])
    assert page["feedback"] is None
    assert page["kind"] == kind


@for_each_kind
def test_graded_page_holds_no_answer(kind):
    """Of a question the page has its words; of an option its id and its label."""
    for question in page_content_of(of_kind(kind), 1, "graded")["questions"]:
        assert question["told"] is None
        for option in question["options"]:
            assert set(option) == {"id", "label"}


TEXTS = {"label", "help", "checklist", "picture", "texts", "text", "model", "wrong"}


def practised_in(language, kind):
    """What a practice set asks and tells."""
    with speaking(language):
        page = page_content_of(of_kind(kind), 1, "practice")
    return page["questions"]


def texts_of(value):
    """Every text with words in it, but not the ids, inside a JSON value."""
    if isinstance(value, str):
        return {value} if re.search("[a-z]{4}", value) else set()
    if isinstance(value, dict):
        value = [each for key, each in value.items() if key not in {"id", "kind"}]
    return set().union(*map(texts_of, value)) if isinstance(value, list) else set()


def unsaid(value):
    """The same value without its texts: ids, numbers and which option is right."""
    if isinstance(value, dict):
        # Of a number, what is right is told in words, and between which ends it lies.
        said = TEXTS | ({"right"} if "low" in value else set())
        return {key: unsaid(each) for key, each in value.items() if key not in said}
    return [unsaid(each) for each in value] if isinstance(value, list) else value


@for_each_kind
def test_questions_in_german_are_the_same_in_other_words(kind):
    """Ids, numbers and right answers are those of the key; no text is English."""
    german, english = (practised_in(each, kind) for each in ("de", ENGLISH))
    assert unsaid(list(german)) == unsaid(list(english))
    assert texts_of(list(english))
    english_left = texts_of(list(german)) & texts_of(list(english))
    assert not english_left, "run: python -m tests.translations, and fill in its file"


def test_place_of_an_option_does_not_tell_that_it_is_right():
    """Over many streams the right one comes first, second, third and fourth."""
    places = [
        mixed(ORDERED, Stream(bytes(32), number)).right[0].id for number in range(60)
    ]
    assert {places.count(f"o{place}") > 5 for place in (1, 2, 3, 4)} == {True}


def test_branches_are_those_that_the_network_has():
    """Solved, the sound circuit carries each current where the answer says.

    Terminals by DIN 72552 (from memory): 30 feed, 87 output, 85 and 86 the coil.
    """
    names, right = drawn().specification.names, {}
    for number in range(20):
        made = replace(of_kind("branches"), question_key=bytes([number]))
        right |= {each.id: each for each in questions_of(made)}
    current = solve(drawn().sound_network).current_a
    assert current["control_fuse"] == pytest.approx(
        current["coil"] + current["suppression"]
    )
    assert current["load_fuse"] == pytest.approx(current["load"])
    assert current["upstream"] == pytest.approx(
        current["control_fuse"] + current["load_fuse"]
    )
    assert {id_: right_label(question) for id_, question in right.items()} == {
        "coil_fuse": f"{names.control_fuse} alone",
        "load_fuse": f"{names.load_fuse} alone",
        "either_fuse": "Either of the two",
        "fed_terminal": "30",
        "load_terminal": "87",
        "driven_terminal": names.coil_return,
        "other_terminal": names.coil_supply,
        "clamp_both": "The load's current and the coil's",
        "clamp_load": "The load's current alone",
        "clamp_coil": "The coil's current alone",
        "clamp_none": "No current at all",
    }
    assert names.control_fuse in right["clamp_coil"].label
    assert names.load_fuse in right["clamp_load"].label


def test_currents_are_volts_over_ohms_and_the_sheet_with_its_tolerance():
    """By hand: supply over coil and resistor in parallel; rated current ± tolerance."""
    specification, right = drawn().specification, asked("currents")
    nominal = specification.nominal
    ohm = 1 / (1 / nominal.coil_ohm + 1 / nominal.suppression_ohm)
    low, high = right["coil_current"].number.band
    assert low < nominal.supply_v / ohm < high
    load_a = right["load_current"].number.value
    frac = specification.family.tolerance_percent.rated / 100
    for word, factor in (("lowest", 1 - frac), ("highest", 1 + frac)):
        edge = right[f"{word}_load_current"].number
        assert edge.value == pytest.approx(load_a * factor)
        assert not edge.band[0] <= load_a <= edge.band[1]


def test_coil_draws_less_when_it_is_warm():
    """By the sheet's ohms and 0.39 % a degree; at 20 °C it is another number."""
    nominal, right = drawn().specification.nominal, asked("currents")
    number = right["current_at_temperature"].number
    degc = int(re.search(r"at (-?\d+) °C", number.label)[1])
    ohm = 1 / (1 / nominal.sheet_coil_ohm + 1 / nominal.suppression_ohm)
    low, high = number.band
    assert low < nominal.supply_v / (ohm * (1 + 0.0039 * (degc - 20))) < high
    cold = nominal.supply_v / ohm
    assert (number.value < cold) == (degc > 20)
    assert not low <= cold <= high


def test_display_turns_into_amperes_by_the_scale():
    """On 10 mV/A a display in millivolts is ten times the amperes."""
    right = asked("display")
    number = right["amperes_of_display"].number
    millivolts = float(re.search(r"display of ([\d.]+) mV", number.label)[1])
    assert number.value == pytest.approx(millivolts / 10)
    assert right_label(right["control_scale"]) == "100 mV/A up to 10 A"
    amperes = re.search(r"current of (\d+\.?\d*) A read", right["other_scale"].label)
    scale, most = re.findall(r"\d+", right_label(right["other_scale"]))
    assert 0.1 * float(most) < float(amperes[1]) < float(most)
    assert float(scale) * float(most) == 1000


def test_drops_are_in_the_order_of_the_ohms_and_by_ohms_law():
    """The figures that the student is given lead to the order and to the volts."""
    right = asked("drops")
    order = right["drop_order"]
    load_a, *_ = re.findall(r"draws ([\d.]+) A", order.help)
    given = re.findall(r"(?:: |; )([^;]+?) ([\d.]+) mΩ", order.help)
    ohm = {
        name.removeprefix("Measured out of circuit: "): float(o) for name, o in given
    }
    wanted = sorted(ohm, key=lambda name: -ohm[name])
    assert [option.label for option in order.right] == wanted
    assert wanted[0].startswith("terminal 30 to 87")
    volts = float(load_a) * ohm[wanted[0]] / 1000
    assert right["drop_1"].number.value == pytest.approx(volts)


def test_scope_tells_suppression_by_the_height_of_the_spike():
    """Below the sheet's limit something lies across the coil, above it nothing.

    A bare coil gives hundreds of volts (common practice, no source).
    """
    seen = set()
    for number in range(8):
        made = replace(of_kind("scope"), question_key=bytes([number]))
        right = {each.id: each for each in questions_of(made)}
        height_v = right["turn_off_height"].number.value
        is_bare = right_label(right["across_coil"]) == "nothing"
        assert is_bare == (height_v > 180.0)
        assert right_label(right["as_sheet_allows"]).startswith("No") == is_bare
        seen.add(is_bare)
    assert seen == {True, False}


def test_reasons_are_right_for_one_question_of_their_group():
    """Whichever is asked, all reasons of the group are offered, with what to say."""
    for group in (*GROUPS, TURN_OFF):
        reasons = {why.reason for why in group}
        assert len(reasons) == len(group) == 4
        made = [reason_question(group, Stream(bytes(32), n)) for n in range(40)]
        assert {question.id for question in made} == {why.id for why in group}
        for question in made:
            assert {option.label for option in question.options} == reasons
            (right,) = question.right
            assert all(right.text in option.text for option in question.options)


# Kinds whose choices come in all their ways from one circuit.
OFTEN = (
    *("branches", "display", "reasons", "scope", "traces", "logs", "shares"),
    *("millivolts", "switches"),
)
# A circuit that is built the other way round in all that questions hang on.
OTHER = replace(
    RADICAL, variant=Variant(fuses="shared", drive="high side", supply="battery only")
)


@cache
def asked_often(language):
    """Every choice of both circuits under many secrets, by kind."""
    circuits = [
        new_exercise(BOOK, radical, SECRET.value, ("s01", "often"))
        for radical in (RADICAL, OTHER)
    ]
    found = defaultdict(list)
    for kind, made, number in product(OFTEN, circuits, range(120)):
        exercise = replace(
            made,
            radical=replace(made.radical, kind=kind),
            question_key=number.to_bytes(2),
        )
        with speaking(language):
            asked = questions_of(exercise)
        found[kind] += [each for each in asked if each.kind == "choice"]
    return found


def standing_out(question, sign):
    """The option that is seen to be the longest or, with -1, the shortest."""
    sizes = sorted(
        (sign * len(option.label), option.label) for option in question.options
    )
    (second, _), (most, label) = sizes[-2:]
    return label if abs(most - second) > 0.1 * abs(second) else None


@pytest.mark.nightly
@pytest.mark.parametrize(
    "language", [ENGLISH, pytest.param("de", marks=pytest.mark.nightly)]
)
@pytest.mark.parametrize("sign", [1, -1], ids=["longest", "shortest"])
@pytest.mark.parametrize("kind", OFTEN)
def test_length_of_an_option_does_not_tell_that_it_is_right(kind, sign, language):
    """The option that stands out is right as often as chance has it.

    Bounds of four standard deviations, the questions taken as drawn one by one.
    """
    hits = expected = variance = 0.0
    for question in asked_often(language)[kind]:
        label = standing_out(question, sign)
        if label is not None:
            chance = 1 / len(question.options)
            hits += label == right_label(question)
            expected += chance
            variance += chance * (1 - chance)
    assert abs(hits - expected) <= 4 * math.sqrt(variance)


@pytest.mark.parametrize(
    "language", [ENGLISH, pytest.param("de", marks=pytest.mark.nightly)]
)
def test_no_option_is_always_right_or_always_wrong(language):
    """Whoever learns options by heart learns nothing: each has both verdicts."""
    verdicts = defaultdict(set)
    for questions in asked_often(language).values():
        for question in questions:
            for option in question.options:
                verdicts[option.label].add(option in question.right)
    assert {label for label, seen in verdicts.items() if len(seen) == 1} == set()


def test_write_up_gives_readings_of_which_one_cause_is_left():
    """What is right is the planted fault; the lines and their checklist follow."""
    right, names = asked("write-up"), drawn().specification.names
    assert right_label(right["proved_cause"]) == names.fill(drawn().fault.title)
    lines = right["three_lines"]
    assert [line.label for line in lines.lines] == ["Complaint", "Cause", "Correction"]
    assert lines.checklist


@pytest.mark.parametrize(
    ("repair", "right", "said"),
    [
        ("replace_load", "replace_load+restore_enable", "only one of the two parts"),
        ("replace_load+restore_enable", "replace_load", "a sound part, too"),
        ("replace_load", "restore_enable", "another part"),
        ("replace_load+replace_relay", "replace_load+restore_enable", "another part"),
    ],
)
def test_wrong_correction_is_told_by_what_it_leaves(repair, right, said):
    """Who mends one of two faults has mended no other part."""
    assert said in _beside(repair, right)


def test_complaint_is_told_where_it_is_written_up():
    """An exercise on fuses has no complaint, a write-up has."""
    told = {
        k: "".join(_exercise_cells(1, of_kind(k), is_one_of=False)[0]["source"])
        for k in KINDS
    }
    assert drawn().complaint in told["write-up"]
    assert "Complaint" not in told["branches"]


@for_each_kind
def test_right_answers_get_all_marks_and_lines_get_none(kind):
    """From the key to the hand-in and back: the whole rubric, shared evenly."""
    key, record = key_of(kind)
    hand_in = handed_in(record)
    check_belongs(hand_in, key, {"s01"})
    progress = replay(hand_in.entries)[1]
    marks = grade_exercise(next(key.exercises), progress, RUBRIC)
    assert marks.mark == pytest.approx(RUBRIC.total)
    lines = [step for step in marks.steps if step.item.startswith("three_lines")]
    assert all(step.answer and not step.out_of for step in lines)
    graded = [step for step in marks.steps if step not in lines]
    assert len({round(step.out_of, 9) for step in graded}) == 1


def test_wrong_answers_carry_their_misconception():
    """A guess loses its mark, and the wrong rule behind it is named."""
    key, record = key_of("display")
    place, item, wrong = next(
        (place, question["id"], option)
        for place, question in enumerate(record["questions"])
        for option in question["options"]
        if option["misconception"]
    )
    progress = replay([ChoiceAnswer(exercise=1, item=item, choice=wrong["id"])])[1]
    step = grade_exercise(next(key.exercises), progress, RUBRIC).steps[place]
    assert (step.mark, step.misconception) == (0.0, wrong["misconception"])
    assert step.misconception in MISCONCEPTIONS


def test_answer_of_another_form_is_refused():
    """A choice is no answer to a number."""
    key, record = key_of("currents")
    hand_in = handed_in(record)
    entry = hand_in.entries[0]
    chosen = ChoiceAnswer(exercise=1, item=entry.item, choice="o1")
    other = replace(hand_in, entries=(chosen,))
    with pytest.raises(RefusedError, match="is no number of that question"):
        check_belongs(other, key, {"s01"})


@for_each_kind
def test_practice_says_right_to_the_keys_answer(kind):
    """Page and key agree on what is right."""
    _, record = key_of(kind)
    page = page_content_of(of_kind(kind), 1, "practice")
    exercise = exercises_from_payload({"exercises": [page]})[1]
    rows = handed_in(record).entries
    replies = replay(rows)[1].replies
    for question in exercise.questions:
        wanted = "news" if question.kind == "lines" else "right"
        tones = {each.tone for each in judge_reply(question, replies[question.id])}
        assert tones == {wanted}


def test_practice_says_why_a_choice_is_wrong():
    """The text of the option that was chosen, and the words of the right one."""
    page = page_content_of(of_kind("branches"), 1, "practice")
    question = exercises_from_payload({"exercises": [page]})[1].questions[0]
    other = next(o.id for o in question.options if o.id != question.told.right)
    [remark] = judge_reply(question, Reply(choice=other))
    assert question.told.texts[other] in remark.text
    assert "Right is" in remark.text


@for_each_kind
def test_exercise_of_every_kind_is_proved_again(kind):
    """What validation derives from the secret is what the key holds."""
    _, record = key_of(kind)
    assert problems_of_exercise(whole_of(record), of_kind(kind)) == []
