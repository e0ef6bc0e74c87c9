"""Every kind of exercise works on paper: asked, told to the teacher, typed, graded."""

import csv
import io
import re
from html import unescape
from types import SimpleNamespace

import pytest

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.typed_answers import typed_hand_ins
from answer_keys.hand_ins.typed_table import COLUMNS, empty_table
from answer_keys.keys.wording import letter_of
from answer_keys.marking.exercise_marks import grade_exercise
from generator.paper.guide import guide_text
from generator.paper.handouts import handout_text
from generator.questions.asked import questions_of
from tests.drawn import IDENTITY
from tests.questions.test_questions import KINDS, RUBRIC, handed_in, key_of, of_kind
from workbook.record.progress import replay

for_each_kind = pytest.mark.parametrize("kind", KINDS)
ALL_KINDS = ("diagnosis", *KINDS)


def answer_row(reply, item, record):
    """One reply as a student's letters and numbers on paper."""
    ids = [question["id"] for question in record["questions"]]
    place = ids.index(item)
    options = [option["id"] for option in record["questions"][place]["options"]]
    letters = {id_: letter_of(n) for n, id_ in enumerate(options, start=1)}
    if reply.number:
        return ("answer", place + 1, reply.number.raw, "")
    if reply.choice:
        return ("answer", place + 1, letters[reply.choice].upper(), "")
    if reply.lines:
        return ("answer", place + 1, " | ".join(reply.lines), "")
    return ("answer", place + 1, ", ".join(letters[id_] for id_ in reply.order), "")


def rows_on_paper(progress, record):
    """The work of one exercise as rows of the table, in the order of working."""
    places = {test["id"]: n for n, test in enumerate(record["tests"], start=1)}
    asked = [prediction["id"] for prediction in record["predictions"]]
    for id_, answer in progress.predictions.items():
        yield ("prediction", asked.index(id_) + 1, answer.raw, "")
    for done in progress.tests:
        yield ("test", places[done.item], done.expected, "")
        yield ("finding", places[done.item], done.outcome, done.statement)
    if progress.cause:
        yield ("conclusion", "", progress.cause, progress.correction)
        yield ("verification", "", progress.verification.raw, "")
    for item, reply in progress.replies.items():
        yield answer_row(reply, item, record)


def typed(key, record, rows):
    """The progress that a table of one exercise holds."""
    file = io.StringIO()
    place = (IDENTITY["set_id"], "s01", record["exercise"])
    csv.writer(file).writerows([COLUMNS, *((*place, *row) for row in rows)])
    [hand_in] = typed_hand_ins("typed.csv", file.getvalue().encode(), key)
    return replay(hand_in.entries)[1]


@pytest.mark.parametrize("skill", [1.0, 0.4])
@pytest.mark.parametrize("kind", ALL_KINDS)
def test_work_on_paper_is_worth_what_it_is_in_a_workbook(kind, skill):
    """The same answers, right and wrong ones, get the same marks and reasons."""
    key, record = key_of(kind)
    progress = replay(handed_in(record, skill).entries)[1]
    on_paper = typed(key, record, rows_on_paper(progress, record))
    [exercise] = key.exercises
    assert grade_exercise(exercise, on_paper, RUBRIC) == grade_exercise(
        exercise, progress, RUBRIC
    )


@pytest.mark.parametrize("kind", ALL_KINDS)
def test_empty_table_has_a_row_for_all_that_is_asked(kind):
    """A question has one; a diagnosis those of its steps."""
    key, record = key_of(kind)
    rows = list(csv.DictReader(io.StringIO(empty_table(key.set_id, key.exercises, 2))))
    asked = len(record["questions"])
    answers = [row["item"] for row in rows if row["step"] == "answer"]
    assert answers == [str(n) for n in range(1, asked + 1)]
    assert {row["step"] for row in rows} == (
        {"answer"}
        if asked
        else {"prediction", "test", "finding", "conclusion", "verification"}
    )


def handout(kind):
    """The handout of one exercise, as text."""
    workbook = SimpleNamespace(
        set_id=IDENTITY["set_id"],
        student="s01",
        edition=1,
        mode="practice",
        title="Relay circuits",
        aims=("Say why.",),
        exercises=(of_kind(kind),),
    )
    return handout_text(workbook, {})


@for_each_kind
def test_handout_asks_every_question_with_room_for_its_answer(kind):
    """Question, options by letter, lines and picture are all there."""
    page = unescape(handout(kind)).replace("\u00a0", " ")
    _, record = key_of(kind)
    for question in record["questions"]:
        assert question["label"] in page
        for n, option in enumerate(question["options"], start=1):
            assert f"<strong>{letter_of(n)}</strong>  {option['label']}" in page
        assert all(line["label"] in page for line in question["lines"])
    assert page.count('class="line') >= len(record["questions"])
    pictures = page.count("<svg")
    screens = sum(q.picture is not None for q in questions_of(of_kind(kind)))
    assert pictures == 1 + screens
    assert len(re.findall(r"<desc[^>]*>[^<]{40,}</desc>", page)) == pictures


@for_each_kind
def test_guide_tells_what_is_right_and_what_to_discuss(kind):
    """Right answers with letters, known wrong ones, and a question to discuss."""
    key, record = key_of(kind)
    guide = unescape(guide_text(key, {"s01": "Mira"}))
    guide = guide.replace("\u00a0", " ")
    for question in record["questions"]:
        for n, option in enumerate(question["options"], start=1):
            is_right = option["id"] in question["right"]
            assert (f"<strong>{letter_of(n)} {option['label']}</strong>" in guide) or (
                not is_right and question["kind"] == "order"
            )
        assert all(line["text"] in guide for line in question["lines"])
    assert "<h3>To discuss</h3>" in guide
    assert guide.count("<em>") >= 1


@pytest.mark.parametrize("answer", ["e", "o1", "a b"])
def test_letter_that_is_no_option_is_told(answer):
    """An id of the workbook is none either: paper has letters."""
    key, record = key_of("branches")
    with pytest.raises(RefusedError, match=f"is “{answer}”. Write one of a, b, c"):
        typed(key, record, [("answer", 1, answer, "")])


@pytest.mark.parametrize("answer", ["one line", "a | b | ", "a | b | c | d"])
def test_lines_that_are_missing_are_told(answer):
    """A write-up has complaint, cause and correction."""
    key, record = key_of("write-up")
    with pytest.raises(RefusedError, match=r"Write Complaint \| Cause \| Corr"):
        typed(key, record, [("answer", 3, answer, "")])


@pytest.mark.parametrize("answer", ["abca", "ab", "a b c e f g", "1234"])
def test_order_that_leaves_one_out_is_told(answer):
    """Every letter once is an order, and nothing else."""
    key, record = key_of("drops")
    with pytest.raises(RefusedError, match="once, in the student's order"):
        typed(key, record, [("answer", 1, answer, "")])


def test_steps_of_a_diagnosis_are_no_answers_to_questions():
    """Each kind of exercise has its own steps, and each question one answer."""
    key, record = key_of("branches")
    with pytest.raises(RefusedError, match=r"step is “test”\. Write answer"):
        typed(key, record, [("test", 1, "none", "")])
    with pytest.raises(RefusedError, match="answer is not due here"):
        typed(key, record, [("answer", 1, "a", "")] * 2)
    with pytest.raises(RefusedError, match=r"item is “9”\. Write one of 1, 2"):
        typed(key, record, [("answer", 9, "a", "")])
