"""The teacher's guide: for each exercise what it is, how it is found, what to ask."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from answer_keys.reading_path import causes_left, minutes_of, planned_tests
from answer_keys.wording import band_text, listed, minutes_text
from generator.writing.guide_questions import (
    discussed,
    told_question,
    wrong_numbers,
)
from generator.writing.printing import page_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from answer_keys.answer_key import AnswerKey
    from answer_keys.key_record import KeyRecord, TestKey

__all__ = ["guide_text"]


def guide_text(
    key: AnswerKey, titles: Mapping[tuple[str, int], str], names: Mapping[str, str]
) -> str:
    """Write the guide to all exercises of a class, student by student.

    Parameters
    ----------
    key : AnswerKey
    titles : mapping of (student, exercise) to str
    names : mapping of str to str
        Names of the students by id, in the order of the roster.
    """
    students = [
        {
            "id": id_,
            "name": name,
            "exercises": [
                {
                    "number": number,
                    "title": titles[id_, number],
                    "complaint": record.complaint,
                    **(_asked(record) if record.questions else _diagnosis(record)),
                }
                for number, record in sorted(key.of_student(id_).items())
            ],
        }
        for id_, name in names.items()
    ]
    return page_text(
        "guide.html.j2", set_id=key.set_id, mode=key.mode, students=students
    )


def _asked(record: KeyRecord) -> dict[str, Any]:
    return {
        "asked": [told_question(question) for question in record.questions],
        "to_discuss": discussed(record.questions),
    }


def _diagnosis(record: KeyRecord) -> dict[str, Any]:
    planned = planned_tests(record)
    return {
        "asked": [],
        "cause": record.label_of_fault(record.fault.id),
        "correction": record.label_of_repair(record.fault.repair),
        "expected": minutes_text(record.plan.expected_cost),
        "path": list(zip(planned, causes_left(record, planned), strict=True)),
        "given": record.start.given_tests,
        "path_minutes": minutes_of(planned),
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
    shown = [
        n
        for n in _proper(record)
        if any(row[n] != record.tests[n].sound_outcome for row in table.outcomes)
    ]
    return {
        "tests": [(n + 1, record.tests[n].title) for n in shown],
        "rows": [
            (
                record.label_of_fault(fault.id),
                fault.id == record.fault.id,
                [
                    "" if row[n] == record.tests[n].sound_outcome else row[n]
                    for n in shown
                ],
            )
            for fault, row in zip(table.faults, table.outcomes, strict=True)
        ],
    }


def _questions(
    record: KeyRecord, planned: Sequence[TestKey]
) -> Iterator[tuple[str, str]]:
    """Questions to discuss with their answers, from this circuit's own figures."""
    yield from _tempting(record)
    wrong = next((test for test in record.tests if test.mistake), None)
    if wrong is not None:
        yield f"What is wrong with this: {wrong.title}?", wrong.mistake
    if planned:
        yield _after_first(record, planned)


def _tempting(record: KeyRecord) -> Iterator[tuple[str, str]]:
    """The cheapest test that costs more than it tells, before any reading."""
    plan, everything = record.plan, record.everything
    best = plan.best_test(everything)
    wasted = {
        n: plan.cost_of(everything, n) - plan.value(everything)
        for n in _proper(record)
        if n != best
    }
    poor = [n for n, minutes in wasted.items() if minutes >= 1.0]
    if best is None or not poor:
        return
    worst = min(poor, key=lambda n: (record.tests[n].minutes, -wasted[n]))
    test = record.tests[worst]
    words = {row[worst] for row in record.reasoning.outcomes}
    tells = (
        f"Every cause gives “{next(iter(words))}”: it tells nothing."
        if len(words) == 1
        else f"It parts {len(everything)} causes into {len(words)} groups, and costs "
        f"{minutes_text(wasted[worst])} more on average than the plan, which begins "
        f"with “{record.tests[best].title}”."
    )
    yield (
        f"“{test.title}” takes only {minutes_text(test.minutes)}. Why not begin "
        "with it?",
        tells,
    )


def _after_first(record: KeyRecord, planned: Sequence[TestKey]) -> tuple[str, str]:
    first = planned[0]
    number = record.test_number(first.id)
    left = record.plan.after(record.everything, number, first.outcome)
    labels = [record.label_of_fault(record.reasoning.faults[n].id) for n in left]
    then = f" The plan goes on with “{planned[1].title}”." if planned[1:] else ""
    return (
        f"“{first.title}” reads {first.display}: which causes are left, and what next?",
        f"That is “{first.outcome}” and leaves {listed(labels, 6)}.{then}",
    )
