"""The teacher's guide: for each exercise what it is, how it is found, what to ask."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.key_questions import NumberKey, OptionKey, QuestionKey
from answer_keys.keys.key_record import KeyRecord, TestKey
from answer_keys.keys.wording import (
    band_text,
    letter_of,
    listed,
    minutes_text,
    value_text,
)
from answer_keys.marking.visits import causes_left, minutes_along, planned_tests
from answer_keys.misconceptions import MISCONCEPTIONS
from generator.paper.printing import page_text
from workbook.texts import _, decimal, translated

# As many as a quarter of an hour holds.
_DISCUSSED = 4


def told_question(question: QuestionKey) -> dict[str, Any]:
    """Return all that a guide says of one question.

    Returns
    -------
    dict
        ``label``, ``right``, ``why``, pairs in ``wrong`` (an answer, what is behind
        it), pairs in ``lines`` (label, model answer) and ``checklist``.
    """
    letters = {one.id: letter_of(n) for n, one in enumerate(question.options, start=1)}
    is_choice = question.kind == "choice"
    told = {
        "label": question.label,
        "right": [
            f"{letters[id_]} {question.option(id_).label}" for id_ in question.right
        ],
        "why": question.option(question.right[0]).text if is_choice else question.text,
        "wrong": [
            (f"{letters[one.id]} {one.label}", _behind(one))
            for one in (_wrong_options(question) if is_choice else ())
        ],
        "lines": [(one.label, one.text) for one in question.lines],
        "checklist": question.checklist,
    }
    if question.number is None:
        return told
    number = question.number
    right = band_text(number.band, number.unit)
    return {**told, "right": [right], "wrong": wrong_numbers(number)}


def wrong_numbers(asked: NumberKey) -> list[tuple[str, str]]:
    """Return the numbers of wrong rules, each with what was done."""
    return [
        (
            # A rule explains a band of numbers; its middle stands for them.
            value_text(sum(rule.band) / 2, asked.unit),
            _(MISCONCEPTIONS[rule.id].title),
        )
        for rule in asked.misconceptions
    ]


def _wrong_options(question: QuestionKey) -> list[OptionKey]:
    return [one for one in question.options if one.id not in question.right]


def _behind(option: OptionKey) -> str:
    if not option.misconception:
        return option.text
    return f"{_(MISCONCEPTIONS[option.misconception].title)}. {option.text}"


def discussed(questions: Sequence[QuestionKey]) -> list[tuple[str, str]]:
    """Return a few questions to discuss with their answers: known wrong rules first."""
    found = [pair for question in questions for pair in _discussed(question)]
    found.sort(key=lambda pair: not pair[0])
    return [(asked, answer) for _, asked, answer in found[:_DISCUSSED]]


def _discussed(question: QuestionKey) -> Iterator[tuple[bool, str, str]]:
    """Whether a wrong rule is known, what to ask, and the answer."""
    if question.number is not None:
        unit = question.number.unit
        for rule in question.number.misconceptions[:1]:
            number = value_text(sum(rule.band) / 2, unit)
            cure = _(MISCONCEPTIONS[rule.id].cure)
            asked = _("{question}: how does somebody get {number}?")
            asked = asked.format(question=question.label, number=decimal(number))
            yield True, asked, f"{translated(rule.text)} {cure}"
    if question.kind == "choice":
        for option in _wrong_options(question)[:2]:
            asked = _("{question} Why not “{option}”?")
            asked = asked.format(question=question.label, option=option.label)
            yield bool(option.misconception), asked, option.text
    if question.kind == "order" and question.text:
        asked = _("{question}: why in this order?").format(question=question.label)
        yield True, asked, question.text


def guide_text(
    key: AnswerKey, names: Mapping[str, str], span: tuple[str, str] | None = None
) -> str:
    """Write the guide to all exercises of some students, one after the other.

    Parameters
    ----------
    names : mapping of str to str
        Names of the students by id, in the order of the roster.
    span : (str, str) or None
        Ids of the first and the last of them; None is the whole class.
    """
    students = [
        {
            "id": id_,
            "name": name,
            "exercises": [
                {
                    "number": number,
                    "title": record.title,
                    "complaint": record.complaint,
                    **(_asked(record) if record.questions else _diagnosis(record)),
                }
                for number, record in sorted(key.of_student(id_).items())
            ],
        }
        for id_, name in names.items()
    ]
    return page_text(
        "guide.html.j2",
        set_id=key.set_id,
        mode=key.mode,
        span=span,
        students=students,
    )


def _asked(record: KeyRecord) -> dict[str, Any]:
    return {
        "asked": [told_question(question) for question in record.questions],
        "to_discuss": discussed(record.questions),
    }


def _diagnosis(record: KeyRecord) -> dict[str, Any]:
    planned = planned_tests(record)
    minutes = minutes_along(record, planned)
    return {
        "asked": [],
        "cause": record.label_of_fault(record.fault.id),
        "correction": record.label_of_repair(record.fault.repair),
        "expected": minutes_text(record.plan.expected_cost),
        "path": list(zip(planned, minutes, causes_left(record, planned), strict=True)),
        "given": record.start.given_tests,
        "path_minutes": math.fsum(minutes),
        "numbers": [
            {
                "label": asked.label,
                "right": band_text(asked.band, asked.unit),
                "wrong": wrong_numbers(asked),
            }
            for asked in (*record.predictions, record.verification)
        ],
        "outcomes": _outcomes(record),
        "to_discuss": list(_questions(record, planned)),
    }


def _proper(record: KeyRecord) -> list[int]:
    """The tests that are done right: of the others every cause gives the same."""
    return [n for n, test in enumerate(record.tests) if not test.mistake]


def _outcomes(record: KeyRecord) -> dict[str, Any]:
    """Causes by tests; a cell is empty where the cause reads as a sound circuit.

    Tests that read so under every cause are left out.
    """
    table = record.reasoning
    marks = _short_words(record)
    shown = [
        n
        for n in _proper(record)
        if any(row[n] != record.tests[n].sound_outcome for row in table.outcomes)
    ]
    return {
        "tests": [(n + 1, record.tests[n].title) for n in shown],
        "marks": [(mark, word) for word, mark in marks.items()],
        "rows": [
            (
                record.label_of_fault(fault.id),
                fault.id == record.fault.id,
                [
                    "" if row[n] == record.tests[n].sound_outcome else marks[row[n]]
                    for n in shown
                ],
            )
            for fault, row in zip(table.faults, table.outcomes, strict=True)
        ],
    }


def _short_words(record: KeyRecord) -> dict[str, str]:
    """A mark for each outcome, so that a table of them fits its page: its initials."""
    marks = dict[str, str]()
    words = {word for row in record.reasoning.outcomes for word in row}
    # The longest first, so that “no” is not the mark of “none”.
    for word in sorted(words, key=lambda word: (-len(word), word)):
        initials = "".join(part[0] for part in word.replace(",", "").split())
        tries = (initials, *(word[:n] for n in range(2, len(word) + 1)))
        marks[word] = next(mark for mark in tries if mark not in marks.values())
    return marks


def _questions(
    record: KeyRecord, planned: Sequence[TestKey]
) -> Iterator[tuple[str, str]]:
    """Questions to discuss with their answers, from this circuit's own figures."""
    yield from _tempting(record)
    wrong = next((test for test in record.tests if test.mistake), None)
    if wrong is not None:
        yield (
            _("What is wrong with this: {test}?").format(test=wrong.title),
            wrong.mistake,
        )
    if planned:
        yield _after_first(record, planned)


def _tempting(record: KeyRecord) -> Iterator[tuple[str, str]]:
    """The cheapest test that costs more than it tells, before any reading."""
    plan, start = record.plan, record.plan.start
    best = plan.best_test(start)
    wasted = {n: plan.wasted(start, n) for n in _proper(record) if n != best}
    minutes = {n: plan.minutes(start, n) for n in wasted}
    poor = [n for n, lost in wasted.items() if lost >= 1.0]
    if best is None or not poor:
        return
    worst = min(poor, key=lambda n: (minutes[n], -wasted[n]))
    test = record.tests[worst]
    words = {row[worst] for row in record.reasoning.outcomes}
    if len(words) == 1:
        tells = _("Every cause gives “{word}”: it tells nothing.")
        tells = tells.format(word=_(next(iter(words))))
    else:
        tells = _(
            "It parts {causes} causes into {groups} groups, and costs {minutes} more "
            "on average than the plan, which begins with “{test}”."
        ).format(
            causes=len(record.everything),
            groups=len(words),
            minutes=minutes_text(wasted[worst]),
            test=record.tests[best].title,
        )
    asked = _("“{test}” takes only {minutes}. Why not begin with it?")
    yield asked.format(test=test.title, minutes=minutes_text(minutes[worst])), tells


def _after_first(record: KeyRecord, planned: Sequence[TestKey]) -> tuple[str, str]:
    first = planned[0]
    number = record.test_number(first.id)
    left = record.plan.after(record.plan.start, number, first.outcome)
    faults = [record.reasoning.faults[n].id for n in left.candidates]
    labels = [record.label_of_fault(fault) for fault in faults]
    asked = _("“{test}” reads {display}: which causes are left, and what next?")
    told = _("That is “{word}” and leaves {causes}.")
    told = told.format(word=_(first.outcome), causes=listed(labels, 6))
    if planned[1:]:
        then = _("The plan goes on with “{test}”.").format(test=planned[1].title)
        told = f"{told} {then}"
    return asked.format(test=first.title, display=first.display), told
