"""Results as xAPI statements, for a learning record store.

References
----------
ADL, Experience API 1.0.3, part two (xAPI-Data.md of adlnet/xAPI-Spec), sections 2.2,
2.4 and 4. IEEE 9274.1.1-2023 (xAPI 2.0) adds to these and takes nothing of what is used
here away; from memory. Verbs and types of activities: the ADL vocabulary.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from urllib.parse import quote, urlsplit

from answer_keys.gradebook.results import ClassResult, GradedExercise, StudentResult
from answer_keys.interchange.ids import stable_id
from answer_keys.marking.marks import StepMark
from answer_keys.visible_text import name_text, visible

_VERBS = "http://adlnet.gov/expapi/verbs/"
_TYPES = "http://adlnet.gov/expapi/activities/"
# So a mark and its scaled value agree as far as both are written.
_DIGITS = 4
Record = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Accounts:
    """How students are named.

    Attributes
    ----------
    home_page : str
        Of the system that the accounts are of; it begins every id of an activity too.
    codes : mapping of str to str
        The account of each student, by id.
    has_names : bool
        Whether the students' names stand beside their accounts.
    """

    home_page: str
    codes: Mapping[str, str]
    has_names: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class _Teller:
    """Makes the statements of one student."""

    set_id: str
    student: StudentResult
    accounts: Accounts

    @property
    def code(self) -> str:
        return self.accounts.codes[self.student.id]

    def activity(self, kind: str, title: str, *path: str | int) -> Record:
        """Name an activity of this student's; nobody else's is the same."""
        parts = "/".join(quote(str(part), safe="") for part in (self.set_id, *path))
        page = self.accounts.home_page.rstrip("/")
        definition: Record = {"name": {"en": visible(title)}, "type": f"{_TYPES}{kind}"}
        if kind == "cmi.interaction":
            definition["interactionType"] = "other"
        return {
            "objectType": "Activity",
            "id": f"{page}/clampbook/{parts}",
            "definition": definition,
        }

    def statement(
        self,
        verb: str,
        activity: Record,
        result: Record,
        at: datetime,
        **within: object,
    ) -> Record:
        """Make a statement; the same one has the same id, a changed one another."""
        account = {"homePage": self.accounts.home_page, "name": self.code}
        actor: Record = {"objectType": "Agent", "account": account}
        if self.accounts.has_names:
            actor["name"] = name_text(self.student.name)
        said = {
            "actor": actor,
            "verb": {"id": f"{_VERBS}{verb}", "display": {"en": verb}},
            "object": activity,
            "result": result,
            "timestamp": _moment(at),
            "context": {
                "registration": stable_id(self.set_id, "registration", self.code),
                "platform": "Clampbook",
                **({"contextActivities": within} if within else {}),
            },
        }
        return {"id": stable_id(json.dumps(said, sort_keys=True)), **said}


def is_home_page(text: str) -> bool:
    """Tell whether a text can be the home page of accounts: an absolute web address.

    Examples
    --------
    >>> is_home_page("https://school.example/"), is_home_page("school.example")
    (True, False)
    """
    try:
        parts = urlsplit(text)
    except ValueError:
        return False
    is_broken = any(each.isspace() or each in '<>"{}|\\^`' for each in text)
    is_web = parts.scheme in ("http", "https") and bool(parts.hostname)
    return is_web and not is_broken and not parts.query and not parts.fragment


def xapi_lines(result: ClassResult, accounts: Accounts) -> str:
    """Write what was scored in the set and in its exercises, and what was answered.

    Returns
    -------
    str
        JSON lines, a statement each.
    """
    statements = (
        one
        for student in result.graded
        for one in _statements(
            _Teller(set_id=result.set_id, student=student, accounts=accounts)
        )
    )
    # Who does the same test twice says the same twice, and a store takes an id once.
    return "".join(
        json.dumps(one, ensure_ascii=False, sort_keys=True, allow_nan=False) + "\n"
        for one in {each["id"]: each for each in statements}.values()
    )


def _statements(teller: _Teller) -> Iterator[Record]:
    student = teller.student
    if student.graded_at is None:
        return
    whole = teller.activity("assessment", f"Set {teller.set_id}")
    scored = _score(student.total, student.out_of)
    yield teller.statement("scored", whole, scored, student.graded_at)
    for exercise in student.exercises:
        if exercise.is_started:
            yield from _of_exercise(teller, whole, exercise, student.graded_at)


def _of_exercise(
    teller: _Teller, whole: Record, exercise: GradedExercise, graded_at: datetime
) -> Iterator[Record]:
    marks, number = exercise.marks, exercise.marks.exercise
    path = "students", teller.code, "exercises", number
    title = f"Exercise {number}: {exercise.outline.vehicle}"
    activity = teller.activity("simulation", title, *path)
    scored = _score(marks.mark, marks.out_of) | _duration(exercise)
    yield teller.statement("scored", activity, scored, graded_at, parent=[whole])
    # A student's clock may be ahead, and nothing is told of what is to come.
    done_at = min(exercise.span[1] if exercise.span else graded_at, graded_at)
    within = {"parent": [activity], "grouping": [whole]}
    chosen = {mark: test.title for test, mark in exercise.choices}
    for step in marks.steps:
        if response := step.answer or chosen.get(step, ""):
            place = *path, step.step, step.item
            asked = teller.activity("cmi.interaction", step.title, *place)
            answer = _answer(step, response)
            yield teller.statement("answered", asked, answer, done_at, **within)


def _answer(step: StepMark, response: str) -> Record:
    shown = {"response": visible(response)}
    if not step.out_of:
        return shown  # nothing judges it
    # Shares of a rubric's marks are floats, and add up to the whole but for a last bit.
    is_right = step.mark >= step.out_of * (1 - 1e-9)
    return shown | {"success": is_right} | _score(step.mark, step.out_of)


def _score(mark: float, out_of: float) -> Record:
    """Return a score with its range, where there is a range and the mark lies in it."""
    raw, most = round(mark, _DIGITS), round(out_of, _DIGITS)
    if not 0 <= raw <= most or not most:
        return {"score": {"raw": raw}}
    scaled = round(raw / most, _DIGITS)
    return {"score": {"scaled": scaled, "raw": raw, "min": 0, "max": most}}


def _duration(exercise: GradedExercise) -> Record:
    """Return the time from the first to the last entry, pauses in it."""
    if exercise.span is None:
        return {}
    seconds = (exercise.span[1] - exercise.span[0]).total_seconds()
    return {"duration": f"PT{seconds:.2f}S"}


def _moment(at: datetime) -> str:
    text = at.astimezone(UTC).isoformat(timespec="milliseconds")
    return text.replace("+00:00", "Z")
