"""A class set in German: what students read, and what stays as it is."""

import json
import re
from dataclasses import replace

import pytest
from click.testing import CliRunner

from generator.cli import main
from generator.errors import ClassSetError
from generator.sets import set_writing
from generator.sets.class_set import open_key, read_class_set
from generator.sets.set_writing import write_class_set
from generator.workbooks.notebook import notebook_text
from tests.drawn import SECRET, DrawnBefore, request, workbooks
from workbook.page.finder import find_notebook
from workbook.record.sealed import unseal
from workbook.texts import LANGUAGES, speaking


@pytest.fixture(scope="module")
def german(tmp_path_factory):
    """A practice set for one student, written by the command."""
    out = tmp_path_factory.mktemp("german") / "SET"
    arguments = ["generate", "--language", "de", "--students", "1", "--out", str(out)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(set_writing, "new_class_secret", lambda: SECRET)
        result = CliRunner().invoke(main, [*arguments, "--exercises", "3"])
    assert result.exit_code == 0, result.output
    return read_class_set(out)


@pytest.fixture(scope="module")
def notebook(german):
    """The student's notebook."""
    (student,) = german.request.students
    return json.loads(german.workbook_file(student.id).read_text("utf-8"))


def test_language_is_recorded_in_set_and_notebook(german, notebook):
    """The set keeps it to be written again, the notebook for its form."""
    assert german.request.language == "de"
    assert notebook["metadata"]["clampbook"]["language"] == "de"


def test_frame_of_the_notebook_is_german(notebook):
    """Headings, cautions and how to begin are, and the texts of lessons besides."""
    text = "".join("".join(cell["source"]) for cell in notebook["cells"])
    for said in ("Vorsicht in der Werkstatt", "So beginnst du.", "### Datenblatt"):
        assert said in text
    assert "Specification" not in text.split("## Übung 1")[1]
    assert '<div lang="en">' not in text


ENGLISH_WORDS = re.compile(r"\b(the|with|is|of|from|you|wire|load|fuse|ground)\b", re.I)
IDS = {
    *("id", "kind", "branch", "outcomes", "outcome", "sound", "plan", "sections_of"),
    *("cleared", "suspect", "needs", "at", "branches", "place", "milliohm_points"),
}


def strings(value):
    """Every text of a page's record, those in a picture too, but not its ids."""
    if isinstance(value, str):
        yield from re.findall(">([^<]+)<", value) if "<svg" in value else [value]
    elif isinstance(value, dict):
        for key, each in value.items():
            if key not in IDS:
                yield from strings(each)
    elif isinstance(value, list):
        for each in value:
            yield from strings(each)


def test_exercises_are_german(german, notebook):
    """Complaint, diagram, sheet, tests, questions and feedback hold no English."""
    pages = unseal(_sealed(german))["exercises"]
    said = [text for page in pages for text in strings(page)]
    cells = [c for c in notebook["cells"] if c["id"].startswith("circuit")]
    said += [re.sub('src="[^"]*"', "", "".join(cell["source"])) for cell in cells]
    assert len(said) > 100
    assert [text for text in said if ENGLISH_WORDS.search(text)] == []
    assert not [text for text in said if re.search(r"[0-9]\.[0-9]", text)]


def test_answer_key_speaks_as_the_pages_do(german):
    """Its ids and the words of outcomes are the same in all languages."""
    records = list(open_key(german)[1].exercises)
    page = unseal(_sealed(german))["exercises"]
    for record, shown in zip(records, page, strict=True):
        if shown["kind"] != "diagnosis":
            continue
        assert [t.id for t in record.tests] == [t["id"] for t in shown["tests"]]
        assert [[*t.outcomes] for t in record.tests] == [
            t["outcomes"] for t in shown["tests"]
        ]
        labels = [one["label"] for one in shown["causes"]]
        assert [one.label for one in record.causes] == labels


def _sealed(german):
    (student,) = german.request.students
    text = german.workbook_file(student.id).read_text("utf-8")
    return json.loads(text)["metadata"]["clampbook"]["sealed"]


def test_german_set_is_sound(german):
    """Written again it is the same, it runs, and every proof holds."""
    result = CliRunner().invoke(main, ["validate", str(german.folder), "--json"])
    assert json.loads(result.stdout)["sound"], result.output


def test_set_is_drawn_once_and_read_in_either_language(tmp_path, monkeypatch):
    """An English set shown in German is the German set; keys differ in words alone."""
    drawn = []

    def draw(*_):
        drawn.append(DrawnBefore(workbooks("practice")))
        return drawn[-1]

    monkeypatch.setattr(set_writing, "new_class_secret", lambda: SECRET)
    monkeypatch.setattr(set_writing, "class_workbooks", draw)
    keys = {}
    for language in LANGUAGES:
        asked = replace(request("practice"), language=language)
        made = set_writing.write_class_set(tmp_path / language, asked)
        keys[language] = list(open_key(made)[1].whole)
        for workbook in workbooks("practice"):
            handed_out = made.workbook_file(workbook.student).read_text("utf-8")
            with speaking(language):
                assert notebook_text(workbook) == handed_out
    assert len(drawn) == len(LANGUAGES)
    causes = [{one.causes[0].label for one in key} for key in keys.values()]
    assert not set.intersection(*causes)
    same = [[_unspoken(one) for one in key] for key in keys.values()]
    assert all(key == same[0] for key in same)


def _unspoken(record):
    """What of a record is no word of a language."""
    tests = [(t.id, t.minutes, t.outcome, t.outcomes) for t in record.tests]
    numbers = [(n.id, n.value, n.band) for n in record.predictions]
    return record.fault.id, record.reasoning.outcomes, record.planned, tests, numbers


def test_set_in_two_languages_has_a_workbook_in_each(tmp_path):
    """The same exercises, beside each other; the handout is in the first language."""
    asked = replace(request("practice", 1, 1), language="de", also_in=("en",))
    made = write_class_set(tmp_path / "SET", asked, secret=SECRET)
    (student,) = asked.students
    names = made.workbook_names(student.id)
    assert list(names) == ["de", "en"]
    folder = made.workbook_file(student.id).parent
    assert {path.name for path in folder.iterdir()} == set(names.values())
    for spoken in names:
        found = find_notebook(folder, {}, spoken)
        assert found.path == folder / names[spoken]
    assert read_class_set(made.folder).request.languages == ("de", "en")


def test_examination_is_in_one_language(tmp_path):
    """Its readings are given in one."""
    asked = replace(request("graded", 1, 1), mode="examination", also_in=("de",))
    with pytest.raises(ClassSetError, match="Name one --language"):
        write_class_set(tmp_path / "SET", asked)
