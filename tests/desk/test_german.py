"""What a German desk refuses is refused in German, whatever the set's language."""

import io
import re
import zipfile

import pytest

from answer_keys.errors import RubricError
from answer_keys.marking.marker import Marker
from answer_keys.marking.rubric import rubric_from_text, rubric_text
from generator.desk.standing import standing_of
from generator.desk.work.named import do
from generator.drawing.request import Request, Student
from generator.errors import told
from generator.grading.processes import mark_in_processes
from generator.sets.set_writing import write_class_set
from generator.week.inventing import invent_work
from generator.week.marking import Marking, grade
from generator.week.opened import opened_set
from tests.answer_keys.samples import TEST_IDS, Writer, sample_key, work_through
from tests.drawn import SECRET
from tests.week.test_german import english_in
from workbook.texts import speaking

KEY = sample_key()
SOUND = Writer(student="s01")
work_through(SOUND, KEY.of_student("s01")[1], TEST_IDS[:2])


def archive(name, data):
    """A zip with one file in it."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as made:
        made.writestr(name, data)
    return packed.getvalue()


def of_another_set():
    """A hand-in that belongs elsewhere."""
    return SOUND.bytes().replace(KEY.set_id.encode(), b"other234")


HANDED_IN = {
    "heft.ipynb": b'{"cells": [], "nbformat": 4}',
    "leer.jsonl": b"",
    "bild.jpg": b"\xff\xd8\xff",
    "liste.jsonl": b"[1]",
    "falsch.jsonl": b'{"kind":"hand-in","format":1,"set_id":7}',
    "fremd.jsonl": of_another_set(),
    "lang.jsonl": b"x" * 9000,
    "tief.zip": archive("a.zip", archive("b.zip", archive("c.jsonl", b"x"))),
    "hinaus.zip": archive("../a.jsonl", b"x"),
    "kaputt.zip": b"PK\x03\x04 and nothing",
    "spalten.csv": b"a,b\n1,2\n",
    "zeilen.csv": (
        "set,student,exercise,step,item,answer,second_answer\n"
        f"{KEY.set_id},s01,1,prediction,1,viel,\n"
        f"{KEY.set_id},s01,1,test,99,x,\n"
        f"{KEY.set_id},s01,9,conclusion,,c01,r01\n"
        f"{KEY.set_id},s01,1\n"
    ).encode(),
}


def test_refused_hand_ins_are_told_in_german(tmp_path):
    """By the processes that read them, too; names of columns are what they are."""
    for name, data in HANDED_IN.items():
        (tmp_path / name).write_bytes(data)
    rubric = rubric_from_text(rubric_text())
    with speaking("de"):
        marker = Marker(key=KEY, rubric=rubric, students=frozenset({"s01"}))
    refusals = {one.name: one.refusal for one in mark_in_processes(marker, tmp_path)}
    assert len(refusals) == len(HANDED_IN)
    assert all(refusals.values())
    assert {
        name: found for name in refusals if (found := english_in(refusals[name]))
    } == {}
    assert "das Arbeitsheft selbst" in refusals["heft.ipynb"]
    assert refusals["zeilen.csv"].count("Zeile ") >= 4


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("predictions = 20", "predictions = -1", "muss 0 oder mehr sein"),
        ("predictions = 20", 'predictions = "x"', "muss eine Zahl sein"),
        ("predictions = 20", "guesses = 20", "Diesen Schlüssel gibt es nicht"),
        ("predictions = 20", "", "fehlt. Schreibe eine Zahl"),
        ("[rubric]", "[rubric", "kein gültiges TOML"),
    ],
)
def test_faults_of_a_rubric_are_told_in_german(old, new, said):
    """Each with its place."""
    with speaking("de"), pytest.raises(RubricError, match=said) as caught:
        rubric_from_text(rubric_text().replace(old, new))
    assert caught.value.problems


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ("x;y\n1;2\n", "keine Spalte namens id und name"),
        ("id;name\n", "niemand steht darin"),
        ("id;name\ns/1;Ada\n", "kann keine Kennung sein"),
        ("id;name\ns1;Ada\nS1;Bo\n", "steht hier zweimal"),
        ('id;name\n"s1;Ada\n', "nicht in Spalten trennen"),
        ("%PDF-1.7", "keine lesbare Tabelle"),
    ],
)
def test_faults_of_a_class_list_are_told_in_german(table, said, tmp_path):
    """As the page asks for a preview of a new set."""
    upload = tmp_path / ("0" * 32 + ".csv")
    upload.write_text(table, "utf-8")
    asked = {"uploads": str(tmp_path), "sets": str(tmp_path), "upload": upload.name}
    asked |= {"upload_name": "Klasse 7b.csv"}
    new = {"name": "Woche 3", "set_language": "de", "exercises": 1, "mode": "graded"}
    new |= {"causes": "own", "lessons": ["mixed-diagnosis"], "language": "de"}
    error = do("preview", {**asked, **new}, None)["error"]
    assert [one for one in error["problems"] if said in one["message"]]
    assert {one["file"] for one in error["problems"]} == {"Klasse 7b.csv"}
    # What the library for tables has found is told in its own words.
    message = re.sub(r"\(.*?\)| and name", "", error["problems"][0]["message"])
    assert english_in(message) == []


def test_class_list_is_read_beside_the_page(tmp_path):
    """A doubled id is told with both of its people and the first one's line."""
    asked = {"uploads": str(tmp_path), "sets": str(tmp_path), "language": "de"}
    asked |= {"upload": "0" * 32 + ".csv", "upload_name": "Klasse 7b.csv"}
    asked |= {"columns": {"id": 0, "name": 1, "given": None}}
    upload = tmp_path / asked["upload"]
    upload.write_text("Nr;Wer\n1;Ada\n2;Bo\n", "utf-8")
    assert do("read-list", asked, None)["result"] == {"students": 2}
    upload.write_text("Nr;Wer\n1;Ada\n1;Bo\n", "utf-8")
    (problem,) = do("read-list", asked, None)["error"]["problems"]
    assert (problem["file"], problem["line"]) == ("Klasse 7b.csv", 3)
    assert "Bo hat die von Ada, Zeile 2" in problem["message"]


@pytest.fixture(scope="module")
def marked(tmp_path_factory):
    """A small set, marked, of no school's information system."""
    request = Request(
        lessons=("mixed-diagnosis",),
        students=(Student(id="s01", name="Ada"),),
        exercises=1,
        mode="graded",
        language="de",
    )
    folder = tmp_path_factory.mktemp("marked") / "Woche 4"
    write_class_set(folder, request, secret=SECRET)
    opened = opened_set(folder)
    invent_work(opened)
    grade(opened, Marking(mark=Marker.marked_in))
    return folder


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"format": "oneroster"}, "OneRoster braucht die Kennungen"),
        ({"format": "column", "column": "Note"}, "Zeile 1: Es gibt keine Spalte"),
        ({"format": "column", "column": "P"}, "haben dieselbe Kennung"),
    ],
)
def test_results_that_cannot_be_handed_on_are_refused_in_german(given, said, marked):
    """The instructor's own table is called as its owner calls it."""
    uploads = marked.parent
    table = uploads / ("1" * 32 + ".csv")
    table.write_text("id;P\ns01;\ns01;\n", "utf-8")
    asked = {"folder": str(marked), "uploads": str(uploads), "language": "de"}
    asked |= {"upload": table.name, "name": "Noten.csv", **given}
    message = do("export", asked, None)["error"]["message"]
    assert said in message
    assert str(uploads) not in message
    assert english_in(message) == []


def test_answers_on_paper_are_chosen_in_the_words_of_the_handout(marked):
    """And taken so."""
    asked = {"folder": str(marked), "language": "en", "student": "s01"}
    (form,) = do("paper-form", asked, None)["result"]
    test, finding = (
        next(one for one in form["asked"] if one["step"] == step)
        for step in ("test", "finding")
    )
    words = {word for word, _ in test["first"]}
    assert not words & {"expected", "none", "low", "high", "clear", "open"}
    answers = [
        {"exercise": 1, "step": one["step"], "item": one["item"], "answer": word}
        for one in (test, finding)
        for word, _ in one["first"][:1]
    ]
    answers[1]["second_answer"] = finding["second"][0][0]
    predictions = [
        {
            "exercise": 1,
            "step": "prediction",
            "item": one["item"],
            "answer": f"1 {one['unit']}",
        }
        for one in form["asked"]
        if one["step"] == "prediction"
    ]
    asked["answers"] = [*predictions, *answers]
    assert do("keep-paper", asked, None)["result"] == {"file": "typed-s01.csv"}


def test_what_the_system_says_is_quoted_behind_german_words(tmp_path):
    """Its own words come in its own language."""
    with speaking("de"):
        said = told(PermissionError(13, "Permission denied", str(tmp_path)))
    assert said.endswith("Das System meldet: „Permission denied“.")


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"name": "a/b"}, "Der Satz braucht einen Namen"),
        ({"name": "a", "set_language": "xx"}, "Wähle für die Arbeitshefte"),
        ({"name": "a", "exercises": 0}, "exercises: 0 liegt nicht zwischen 1 und"),
        ({"name": "a", "mode": "easy"}, "mode: Wähle eines von"),
    ],
)
def test_fields_of_a_new_set_are_refused_in_german(given, said, tmp_path):
    """Whatever was filled in."""
    usual = {"set_language": "de", "exercises": 1, "mode": "graded", "causes": "own"}
    asked = {"language": "de", "sets": str(tmp_path), **usual, **given}
    assert do("preview", asked, None)["error"]["message"].startswith(said)


def test_lessons_are_offered_in_german():
    """Those that come with us, with their aims."""
    cards = do("lessons", {"language": "de", "sets": "nowhere"}, None)["result"]
    texts = [text for card in cards for text in (card["title"], *card["aims"])]
    assert len(cards) > 10
    assert english_in(" ".join(texts)) == []


def test_german_set_stands_among_the_sets_with_german_lessons(tmp_path):
    """Whatever the desk speaks at that moment: its pages are answered in threads."""
    request = Request(
        lessons=("mixed-diagnosis",),
        students=(Student(id="s01", name="S"),),
        exercises=1,
        mode="practice",
        language="de",
    )
    write_class_set(tmp_path / "Woche 1", request, secret=SECRET)
    (title,) = standing_of(tmp_path / "Woche 1")["lessons"]
    assert title.startswith("Die nächste Prüfung wählen")
