"""A workbook in German says nothing of its own in English."""

import pytest

from tests.translations import read_catalogue
from tests.workbook.sample import write_workbook
from tests.workbook.steps import AFTER, COIL, LOAD, conclude, measure, predict_all, send
from workbook.page.clerk import Clerk
from workbook.page.finder import find_notebook
from workbook.page.page_texts import page_texts
from workbook.page.session import KernelSession
from workbook.texts import ENGLISH, use

# The sample's own words, which its author would have translated.
OF_THE_SAMPLE = {"", "or", "and", "fan motor"}

# Fields whose texts nobody reads.
CODES = {
    "key",
    "name",
    "value",
    "kind",
    "state",
    "values",
    "raw",
    "at",
    "test",
    "status",
}


@pytest.fixture
def german(tmp_path):
    """The clerk of a German workbook."""
    write_workbook(tmp_path, language="de")
    yield Clerk(KernelSession(find_notebook(tmp_path, {}), tmp_path))
    use(ENGLISH)


def strings(value):
    """Every text inside a JSON value, but not the names of its fields."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, each in value.items():
            if key not in CODES:
                yield from strings(each)
    elif isinstance(value, list | tuple):
        for each in value:
            yield from strings(each)


def english():
    """Every text of ours that German says in other words."""
    pairs = [(m.id, m.string) for m in read_catalogue("de") if isinstance(m.id, str)]
    return {id_ for id_, text in pairs if id_ != text} - OF_THE_SAMPLE


def work(clerk):
    """Do everything once, with mistakes; yield each page and reply on the way."""
    yield clerk.view(1)
    for raw in ("", "12", "1,234 A", "4k7", "3 V", "1.2.3 A", "12 50 A"):
        yield send(clerk, "prediction", LOAD, raw=raw)
    yield send(clerk, "test", "voltage_85", expected="low")
    yield predict_all(clerk)
    for step in (1, 2, 3, 4):
        yield send(clerk, "hint", "choice", step=step)
        yield clerk.view(1)
    for test in ("load_current", "voltage_85", "control_current"):
        yield send(clerk, "test", test, expected="low")
        yield clerk.view(1)
        yield measure(clerk, test, "low", "low", "s2")
        yield clerk.view(1)
    yield conclude(clerk, cause="c01", correction="r01")
    yield send(clerk, "echo", AFTER, raw="122 mV")
    yield send(clerk, "verification", AFTER, raw="122 mV")
    yield clerk.view(1)
    yield page_texts()


def test_german_workbook_speaks_german(german):
    """Of all pages and replies of an exercise, no text of ours is English."""
    said = {text for each in work(german) for text in strings(each)}
    assert "Die Ursache stimmt nicht." in said
    assert said & english() == set()


def test_german_workbook_writes_a_decimal_comma(german):
    """Numbers that the page writes have the mark of the language."""
    assert send(german, "echo", LOAD, raw="12.5 A")["text"] == "Gelesen als 12,5 A"
    assert send(german, "echo", LOAD, raw="1,234 A")["readings"][0] == "1,2340 A"
    predict_all(german)
    first, *_ = german.view(1)["sections"]
    rows = [part["rows"] for part in first["parts"]]
    assert rows[1][0][1] == "12,2 A"
    assert german.view(1)["language"] == "de"


def test_refused_number_is_told_in_german(german):
    """What is wrong with a number is said in the student's language."""
    assert send(german, "echo", COIL, raw="85")["text"] == (
        "Schreibe auch die Einheit. Schreibe zum Beispiel 12,5 A oder 350 mA."
    )
