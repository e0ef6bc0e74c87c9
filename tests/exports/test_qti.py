"""Items of QTI 3.0 that another system can ask and score.

The schema of 1EdTech for items could not be had; structure and names are checked
against what the consortium's own examples show (1EdTech/qti-examples on GitHub:
MultipleChoice-choice-polynomials.xml, SineRule-002-maths.xml and imsmanifest.xml of
packaging/BBQsTest). The order of an item's parts is that of classes which were
generated from the schema (ormsbee/pyqti on GitHub, read and not run).
"""

from __future__ import annotations

import io
import re
import zipfile

import pytest
from lxml import etree

from generator.exports.qti import qti_package
from generator.questions.asked import questions_of
from generator.workbooks.workbook import Workbook
from tests.questions.test_questions import KINDS, of_kind
from workbook.cautions import CAUTIONS

QTI = "{http://www.imsglobal.org/xsd/imsqtiasi_v3p0}"
CP = "{http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1}"
SET_ID = "k7m2q"
ITEM_PARTS = [
    "qti-response-declaration",
    "qti-outcome-declaration",
    "qti-item-body",
    "qti-response-processing",
]


@pytest.fixture(scope="module")
def workbooks():
    """One circuit, as a diagnosis and as an exercise of every other kind."""
    exercises = tuple(of_kind(kind) for kind in ("diagnosis", *KINDS))
    told = {"edition": 1, "mode": "graded", "lessons": ()}
    student = "s01.hollenkar"
    return (Workbook(set_id=SET_ID, student=student, exercises=exercises, **told),)


@pytest.fixture(scope="module")
def files(workbooks):
    """Every file of the package."""
    with zipfile.ZipFile(io.BytesIO(qti_package(workbooks, SET_ID))) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


@pytest.fixture(scope="module")
def items(files):
    """Every item by its id, read by a parser that is not ours."""
    read = [etree.fromstring(data) for name, data in files.items() if "items/" in name]
    return {item.get("identifier"): item for item in read}


def score_of(item, response):
    """Score a response as the item says: the few expressions that are used here."""
    correct = item.findtext(f".//{QTI}qti-correct-response/{QTI}qti-value")
    is_float = item.find(f"{QTI}qti-response-declaration").get("base-type") == "float"

    def value(node):
        kind = etree.QName(node).localname
        parts = [value(child) for child in node]
        if kind == "qti-variable":
            return float(response) if is_float else response
        if kind == "qti-correct":
            return correct
        if kind == "qti-base-value":
            return float(node.text)
        return {
            "qti-and": lambda: all(parts),
            "qti-gte": lambda: parts[0] >= parts[1],
            "qti-lte": lambda: parts[0] <= parts[1],
            "qti-match": lambda: parts[0] == parts[1],
        }[kind]()

    rule, outcome = item.find(f".//{QTI}qti-response-if")
    assert outcome.get("identifier") == "SCORE"
    return float(outcome[0].text) if value(rule) else 0.0


def questions_in(workbooks):
    """What the package asks, with ids as the items have them."""
    for number, exercise in enumerate(workbooks[0].exercises, 1):
        for one in questions_of(exercise) or exercise.predictions:
            yield f"p001-e{number:02}-{one.id}", one


def test_package_asks_all_numbers_and_choices(workbooks, items):
    """Predictions of a diagnosis too; orders and lines stay out."""
    asked = {
        id_
        for id_, one in questions_in(workbooks)
        if getattr(one, "kind", "number") in ("number", "choice")
    }
    assert set(items) == asked
    assert len(asked) > 12


def test_manifest_names_every_file_once_as_what_it_is(files):
    """By the published imsqtiv3p0_imscpv1p2_v1p0.xsd, which was read.

    Parts and attributes that it asks for, in its order, words of its lists, and ids of
    the type xs:ID. Its licence allows no copy here.
    """
    manifest = etree.fromstring(files["imsmanifest.xml"])
    assert manifest.tag == f"{CP}manifest"
    assert [etree.QName(part).localname for part in manifest] == [
        "metadata",
        "organizations",
        "resources",
    ]
    assert manifest.findtext(f"{CP}metadata/{CP}schema") == "QTI Package"
    assert manifest.findtext(f"{CP}metadata/{CP}schemaversion") == "3.0.0"
    assert not len(manifest.find(f"{CP}organizations"))
    resources = manifest.findall(f"{CP}resources/{CP}resource")
    assert all(set(one.attrib) == {"identifier", "type", "href"} for one in resources)
    assert {one.get("type") for one in resources} == {"imsqti_item_xmlv3p0"}
    listed = [[file.get("href") for file in one] for one in resources]
    assert all(
        one.get("href") in own for one, own in zip(resources, listed, strict=True)
    )
    assert {name for own in listed for name in own} == set(files) - {"imsmanifest.xml"}
    ids = [one.get("identifier") for one in resources]
    ids.append(manifest.get("identifier"))
    assert len(set(ids)) == len(ids)
    assert all(re.fullmatch(r"[A-Za-z_][\w.-]*", id_) for id_ in ids)


def test_items_have_their_parts_in_order(items):
    """Root attributes, declarations, body, processing; ids are names of XML."""
    for id_, item in items.items():
        assert item.tag == f"{QTI}qti-assessment-item"
        assert item.get("adaptive") == item.get("time-dependent") == "false"
        assert item.get("title")
        assert re.fullmatch(r"[A-Za-z_][\w.-]*", id_)
        assert [etree.QName(part).localname for part in item] == ITEM_PARTS
        declared = item.find(f"{QTI}qti-response-declaration")
        assert declared.get("identifier") == "RESPONSE"
        assert declared.get("cardinality") == "single"
        asked = item.findall(".//*[@response-identifier]")
        assert [one.get("response-identifier") for one in asked] == ["RESPONSE"]
        tag = etree.QName(asked[0]).localname
        assert (tag, declared.get("base-type")) in {
            ("qti-choice-interaction", "identifier"),
            ("qti-text-entry-interaction", "float"),
        }


def test_pictures_are_in_the_package_and_told_in_words(files, items):
    """Each item shows its circuit; who does not see it reads it."""
    for item in items.values():
        pictures = item.findall(f".//{QTI}img")
        assert pictures
        for picture in pictures:
            name = picture.get("src").removeprefix("../")
            assert etree.fromstring(files[name]).tag.endswith("svg")
            assert len(picture.get("alt")) > 20
        heads = [cell.text for cell in item.findall(f".//{QTI}th")]
        assert heads[:4] == ["part", "from", "to", "note"]


def test_items_carry_the_cautions(items):
    """Whatever else is on a page, it says what can hurt."""
    for item in items.values():
        assert tuple(one.text for one in item.findall(f".//{QTI}li")) == CAUTIONS


def test_right_answers_score_and_wrong_ones_do_not(workbooks, items):
    """The band's ends are right; numbers of wrong rules and other options are not."""
    wrong = 0
    for id_, one in questions_in(workbooks):
        if getattr(one, "kind", "number") == "number":
            key = getattr(one, "number", one)
            for right in (key.value, *key.band):
                assert score_of(items[id_], right) == 1
            for rule in key.misconceptions:
                assert score_of(items[id_], rule.value) == 0
                wrong += 1
        elif one.kind == "choice":
            for option in one.options:
                assert score_of(items[id_], option.id) == (option in one.right)
            shown = items[id_].findall(f".//{QTI}qti-simple-choice")
            assert [each.text for each in shown] == [o.label for o in one.options]
    assert wrong


def test_nobody_is_named_and_the_same_set_gives_the_same_bytes(workbooks, files):
    """Students are told by their place alone."""
    assert not any(b"hollenkar" in data for data in files.values())
    assert qti_package(workbooks, SET_ID) == qti_package(workbooks, SET_ID)
