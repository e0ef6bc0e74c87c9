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

import io
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from generator.drawing.exercise import Exercise
from generator.drawing.predictions import Prediction
from generator.pictures.circuit_text import diagram_of, sheet_rows
from generator.questions.asked import questions_of, tells_complaint, title_of
from generator.questions.question import Question, number_of
from generator.workbooks.workbook import Workbook
from workbook.cautions import CAUTIONS
from workbook.texts import _, decimal, language, later

_ITEM = "http://www.imsglobal.org/xsd/imsqtiasi_v3p0"
_ITEM_XSD = (
    "https://purl.imsglobal.org/spec/qti/v3p0/schema/xsd/imsqti_asiv3p0_v1p0.xsd"
)
_PACKAGE = "http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1"
_PACKAGE_XSD = (
    "https://purl.imsglobal.org/spec/qti/v3p0/schema/xsd/imsqtiv3p0_imscpv1p2_v1p0.xsd"
)
_INSTANCE = "http://www.w3.org/2001/XMLSchema-instance"
_FIRST_TIME = (1980, 1, 1, 0, 0, 0)  # the earliest that a zip archive can hold
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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """How a question is asked, its right answer, and the rule that scores one."""

    body: tuple[Element, ...]
    base_type: str
    right: str
    rule: Element


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
    files = {"imsmanifest.xml": _text(_manifest(items, set_id))}
    for item in items:
        files |= {name: svg for name, (svg, _) in item.pictures.items()}
        files[item.file] = _text(_item(item))
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        for name, text in files.items():
            info = zipfile.ZipInfo(name, _FIRST_TIME)
            archive.writestr(info, text, zipfile.ZIP_DEFLATED)
    return data.getvalue()


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


def _item(item: _Item) -> Element:
    question, key = item.question, item.question.number
    asked = _choice(question) if key is None else _number(question, key)
    return _element(
        "qti-assessment-item",
        _element(
            "qti-response-declaration",
            _element("qti-correct-response", _element("qti-value", asked.right)),
            identifier="RESPONSE",
            cardinality="single",
            base_type=asked.base_type,
        ),
        _element(
            "qti-outcome-declaration",
            _element("qti-default-value", _element("qti-value", "0")),
            identifier="SCORE",
            cardinality="single",
            base_type="float",
            normal_minimum="0",
            normal_maximum="1",
        ),
        _element("qti-item-body", *_circuit(item), *asked.body, *_cautions()),
        _scored_if(asked.rule),
        **_root(_ITEM, _ITEM_XSD),
        identifier=item.id,
        title=decimal(question.label),
        adaptive="false",
        time_dependent="false",
        xml__lang=language(),
    )


def _circuit(item: _Item) -> Iterator[Element]:
    """Show the circuit to those who see it and to those who read it."""
    exercise = item.exercise
    yield _element("h2", title_of(exercise))
    if tells_complaint(exercise):
        said = _("Complaint: {complaint}").format(complaint=exercise.complaint)
        yield _element("p", decimal(said))
    for name, (_svg, alt) in item.pictures.items():
        yield _element("p", _element("img", src=f"../{name}", alt=decimal(alt)))
    yield _element("h3", _("The circuit in words"))
    yield _table(_CIRCUIT_HEAD, diagram_of(exercise.specification).rows)
    yield _element("h3", _("Specification"))
    yield _table(_SHEET_HEAD, sheet_rows(exercise.specification))
    yield _element("h3", _("Question"))


def _cautions() -> Iterator[Element]:
    yield _element("h3", _("Cautions for the shop"))
    yield _element("ul", *(_element("li", _(caution)) for caution in CAUTIONS))


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> Element:
    cells = [[_element("td", decimal(cell)) for cell in row] for row in rows]
    return _element(
        "table",
        _element("thead", _element("tr", *(_element("th", _(name)) for name in head))),
        _element("tbody", *(_element("tr", *row) for row in cells)),
    )


def _number(question: Question, key: Prediction) -> _Asked:
    """Ask for a number in its unit; the ends of its band count as right."""
    told = _("Give a number in {unit}, with a decimal point.").format(unit=key.unit)
    field = _element(
        "qti-text-entry-interaction",
        response_identifier="RESPONSE",
        expected_length="12",
    )
    # The last bits of a number on the edge depend on how it was typed (350 mA, 0.35 A).
    slack = 1e-9 * max(abs(edge) for edge in key.band)
    edges = ("qti-gte", key.band[0] - slack), ("qti-lte", key.band[1] + slack)
    tests = (
        _element(
            test,
            _element("qti-variable", identifier="RESPONSE"),
            _element("qti-base-value", _float(edge), base_type="float"),
        )
        for test, edge in edges
    )
    return _Asked(
        body=(
            _element("p", _element("strong", decimal(question.label))),
            _element("p", f"{decimal(question.help)} {told}".strip()),
            _element("p", field, f" {key.unit}"),
        ),
        base_type="float",
        right=_float(key.value),
        rule=_element("qti-and", *tests),
    )


def _choice(question: Question) -> _Asked:
    """Ask for one of several options."""
    options = (
        _element("qti-simple-choice", decimal(option.label), identifier=option.id)
        for option in question.options
    )
    interaction = _element(
        "qti-choice-interaction",
        _element("qti-prompt", decimal(f"{question.label} {question.help}".strip())),
        *options,
        response_identifier="RESPONSE",
        max_choices="1",
        shuffle="false",
    )
    rule = _element(
        "qti-match",
        _element("qti-variable", identifier="RESPONSE"),
        _element("qti-correct", identifier="RESPONSE"),
    )
    return _Asked(
        body=(interaction,),
        base_type="identifier",
        right=question.right[0].id,
        rule=rule,
    )


def _scored_if(rule: Element) -> Element:
    point = _element("qti-base-value", "1", base_type="float")
    scored = _element("qti-set-outcome-value", point, identifier="SCORE")
    condition = _element("qti-response-if", rule, scored)
    return _element(
        "qti-response-processing", _element("qti-response-condition", condition)
    )


def _manifest(items: Sequence[_Item], set_id: str) -> Element:
    resources = (
        _element(
            "resource",
            *(_element("file", href=name) for name in (item.file, *item.pictures)),
            identifier=f"r-{item.id}",
            type="imsqti_item_xmlv3p0",
            href=item.file,
        )
        for item in items
    )
    return _element(
        "manifest",
        _element(
            "metadata",
            _element("schema", "QTI Package"),
            _element("schemaversion", "3.0.0"),
        ),
        _element("organizations"),
        _element("resources", *resources),
        **_root(_PACKAGE, _PACKAGE_XSD),
        identifier=f"set-{set_id}",
    )


def _root(namespace: str, schema: str) -> dict[str, str]:
    return {
        "xmlns": namespace,
        "xmlns__xsi": _INSTANCE,
        "xsi__schemaLocation": f"{namespace} {schema}",
    }


def _float(value: float) -> str:
    return f"{value:.12g}"


def _element(tag: str, *content: Element | str, **attributes: str) -> Element:
    """Make an element; ``_`` in a name stands for ``-``, and ``__`` for ``:``."""
    named = {
        name.replace("__", ":").replace("_", "-"): value
        for name, value in attributes.items()
    }
    made = ElementTree.Element(tag, named)
    for one in content:
        if not isinstance(one, str):
            made.append(one)
        elif len(made):
            made[-1].tail = one
        else:
            made.text = one
    return made


def _text(root: Element) -> str:
    ElementTree.indent(root)
    text: str = ElementTree.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'
