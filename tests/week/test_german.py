"""A class in German: what its students and its instructor read is German, too."""

import html
import re

import pytest

from answer_keys.reports.general_names import fault_name, test_name
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.week.answers import answers
from generator.week.class_list import invented_list
from generator.week.inventing import invent_work
from generator.week.marking import grade
from generator.week.new_set import NewSet, generate
from generator.week.on_paper import paper
from generator.week.opened import opened_set
from lessons.loader import lesson_ids
from tests.drawn import SECRET
from workbook.texts import speaking

# Words of English sentences that are none of German ones.
ENGLISH = re.compile(
    r"\b(the|with|your|you|were|which|before|from|not|are|is|of|to|by|and|it|reads)\b",
    re.IGNORECASE,
)


def told(path):
    """What a page says in words."""
    text = re.sub(r"<(style|svg)\b.*?</\1>", "", path.read_text("utf-8"), flags=re.S)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def english_in(text):
    """Where a text is English, with what stands around."""
    found = ENGLISH.finditer(text)
    return [text[max(0, one.start() - 30) : one.end() + 30] for one in found]


@pytest.fixture(scope="module")
def german(tmp_path_factory):
    """Two students who have worked, a careful one and a guesser, graded."""
    asked = NewSet(
        out=tmp_path_factory.mktemp("german") / "woche-3",
        lessons=("mixed-diagnosis", "turn-off"),
        class_list=invented_list(2),
        exercises=3,
        language="de",
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("generator.week.on_paper.can_print", lambda: False)
        made = generate(asked, secret=SECRET).class_set
        opened = opened_set(made.folder)
        invent_work(opened, ("novice", "guesser"))
        patch.setattr(
            "generator.week.marking.mark_in_processes",
            lambda marker, folder, workers: marker.marked_in(folder),  # noqa: ARG005
        )
        grade(opened)
        paper(opened)
    return opened


@pytest.mark.parametrize(
    "name",
    [
        "results/sheets/sheet-s01.html",
        "results/sheets/sheet-s02.html",
        "results/class-report.html",
        "for-instructor/teachers-guide.html",
    ],
)
def test_page_is_german(name, german):
    """Frame, labels, reasons and misconceptions; ids of lessons are what they are."""
    page = german.class_set.folder / name
    assert 'lang="de"' in page.read_text("utf-8")
    text = told(page).replace("clampbook generate --after SET --out NEXT", "")
    for lesson in lesson_ids():
        text = re.sub(lesson.replace("-", " "), "", text, flags=re.IGNORECASE)
    assert english_in(text) == []


def test_answers_are_german(german):
    """They are in the words of the handout that they belong to."""
    for answer in answers(german):
        words = (answer.title, answer.cause, answer.correction, *answer.planned)
        asked = [text for pair in answer.questions for text in pair]
        assert english_in(" ".join((*words, *asked))) == []


@pytest.mark.parametrize("spoken", ["en", "de"])
def test_every_fault_and_test_has_a_name_for_all_vehicles(spoken):
    """None has a brace left that a class report could not fill."""
    with speaking(spoken):
        names = [fault_name(id_, "") for id_ in FAULTS]
        names += [test_name(id_, "") for id_ in TESTS]
    assert not any("{" in name for name in names)
