import re
from dataclasses import replace

import pytest

from generator.workbooks.lesson_text import lesson_text
from lessons.errors import LessonError
from lessons.loader import LESSONS_FOLDER, LessonBook, read_lesson
from lessons.schema import Example
from workbook.quantities import Quantity, read_quantity


def book_with(text: str) -> LessonBook:
    book = read_lesson("mixed-diagnosis")
    example = Example(name="tracks", family="wiper-heater", fault="contacts_resistance")
    lesson = book.lesson.model_copy(update={"examples": (example,)})
    return replace(book, lesson=lesson, text=text)


def test_text_tells_what_the_model_computes():
    """Volts over ohms of an example is what its text says of the coil current."""
    asked = "{{ tracks.circuit.supply_v }} {{ tracks.circuit.coil_ohm }} "
    told = lesson_text(book_with(asked + "{{ tracks.expected('control_current') }}"))
    volts, ohms, amount = told.split(maxsplit=2)
    current = read_quantity(amount, "A")
    assert isinstance(current, Quantity)
    # Wires and driver add about a hundredth, the suppression takes a tenth.
    assert current.value == pytest.approx(float(volts) / float(ohms), rel=0.15)


def test_planned_path_ends_with_one_repair():
    """The path of an example leads to its cause."""
    text = "{% for step in tracks.path %}{{ step.left }} {% endfor %}"
    assert int(lesson_text(book_with(text)).split()[-1]) >= 1


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("one\n{{ tracks.reading('ohms') }}", 2, "'ohms' is no test here. Name"),
        ("{{ wheels.cause }}", 1, "'wheels' is undefined"),
        ("one\ntwo {{ tracks.cause", 2, "unexpected end of template"),
        ("{{ tracks.band('read_enable') }}", 1, "has words for its outcomes"),
        ("{{ tracks.__class__.__mro__ }}", 1, "unsafe"),
    ],
)
def test_text_at_fault_is_told_with_its_line(text: str, line: int, said: str):
    """What a text asks wrongly is told with file and line."""
    with pytest.raises(LessonError, match=re.escape(said)) as failed:
        lesson_text(book_with(text))
    assert f"lesson.md, line {line}:" in str(failed.value)


@pytest.mark.parametrize("path", sorted(LESSONS_FOLDER.glob("*/lesson.md")))
def test_lesson_has_no_typed_reading(path):
    """A lesson's text asks the model for its readings; 12 V and 24 V name a system."""
    typed = re.sub(r"\{\{.*?\}\}|\{%.*?%\}", "", path.read_text("utf-8"), flags=re.S)
    readings = re.findall(r"\d+(?:[.,]\d+)?\s*(?:mA|A|mV|V|Ω|kΩ|W)(?!\w)", typed)
    assert set(readings) <= {"12 V", "24 V"}
