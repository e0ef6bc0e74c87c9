"""Questions and predictions as QTI 3.0 items, in one content package.

What is asked of a circuit alone fits such an item: a number, or one of several
options. A diagnosis is a conversation with the circuit and does not; of one, only the
predictions are written. Orders and lines are left out too.

References
----------
1EdTech, Question and Test Interoperability 3.0, Assessment, Section and Item binding,
from memory; names and order of elements were read from the consortium's own examples
(1EdTech/qti-examples on GitHub, ``qtiv3-examples/packaging/BBQsTest``).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from jinja2 import Environment

from answer_keys.reports.pages import new_environment
from answer_keys.written_files import zipped
from generator.drawing.exercise import Exercise
from generator.pictures.circuit_text import diagram_of, sheet_rows
from generator.questions.asked import questions_of, tells_complaint, title_of
from generator.questions.question import Question, number_of
from generator.workbooks.workbook import Workbook
from workbook.cautions import CAUTIONS
from workbook.texts import _, decimal, language, later

_KINDS = ("number", "choice")
_CIRCUIT_HEAD = (later("part"), later("from"), later("to"), later("note"))
_SHEET_HEAD = (later("quantity"), later("value"), later("tolerance"))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Item:
    """One item with the pictures that it shows, by their names in the package."""

    id: str
    question: Question
    exercise: Exercise
    pictures: Mapping[str, tuple[str, str]]

    @property
    def file(self) -> str:
        return f"items/{self.id}.xml"


def qti_package(workbooks: Iterable[Workbook], set_id: str) -> bytes:
    """Write every question and prediction of a class, in the language spoken.

    Returns
    -------
    bytes
        A zip archive with ``imsmanifest.xml``, items and pictures. Students are told by
        their place in the class list alone. The same set gives the same bytes.
    """
    items = tuple(
        item
        for place, workbook in enumerate(workbooks, start=1)
        for number, exercise in enumerate(workbook.exercises, start=1)
        for item in _items(exercise, f"p{place:03}-e{number:02}")
    )
    files = {"imsmanifest.xml": _filled("manifest.xml.j2", items=items, set_id=set_id)}
    for item in items:
        files |= {name: svg for name, (svg, _) in item.pictures.items()}
        files[item.file] = _item_text(item)
    return zipped(files)


def _items(exercise: Exercise, prefix: str) -> Iterator[_Item]:
    diagram = diagram_of(exercise.specification)
    circuit = {f"images/{prefix}.svg": (diagram.svg, diagram.alt)}
    asked = questions_of(exercise) or map(number_of, exercise.predictions)
    for question in asked:
        if question.kind in _KINDS:
            id_ = f"{prefix}-{question.id}"
            seen = _screen(question, f"images/{id_}.svg")
            yield _Item(
                id=id_,
                question=question,
                exercise=exercise,
                pictures=circuit | seen,
            )


def _screen(question: Question, name: str) -> dict[str, tuple[str, str]]:
    """The screen of a scope with its description, where one is shown."""
    if question.picture is None:
        return {}
    return {name: (question.picture.svg, question.picture.alt)}


def _item_text(item: _Item) -> str:
    exercise, question = item.exercise, item.question
    complaint = _("Complaint: {complaint}").format(complaint=exercise.complaint)
    return _filled(
        "item.xml.j2",
        item=item,
        question=question,
        number=question.number,
        asked=_asked(question),
        band=_band(question),
        title=title_of(exercise),
        complaint=complaint if tells_complaint(exercise) else "",
        circuit_head=_CIRCUIT_HEAD,
        circuit=diagram_of(exercise.specification).rows,
        sheet_head=_SHEET_HEAD,
        sheet=sheet_rows(exercise.specification),
        cautions=CAUTIONS,
        language=language(),
        _=_,
    )


def _asked(question: Question) -> str:
    """Say what is asked for, and how a number is written."""
    if question.number is None:
        return decimal(f"{question.label} {question.help}".strip())
    told = _("Give a number in {unit}, with a decimal point.")
    unit = question.number.unit
    return f"{decimal(question.help)} {told.format(unit=unit)}".strip()


def _band(question: Question) -> tuple[float, ...]:
    """Lowest and highest number that scores; both ends count as right."""
    if question.number is None:
        return ()
    low, high = question.number.band
    # The last bits of a number on the edge depend on how it was typed (350 mA, 0.35 A).
    slack = 1e-9 * max(abs(low), abs(high))
    return low - slack, high + slack


def _filled(template: str, **values: Any) -> str:  # noqa: ANN401 - template values
    return _environment().get_template(template).render(**values)


@cache
def _environment() -> Environment:
    # A reader of the items takes a decimal point, in every language.
    numbers = {"decimal": decimal, "float": lambda value: f"{value:.12g}"}
    return new_environment("generator.exports", numbers)
