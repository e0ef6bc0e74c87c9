"""Validation looks through paper, and finds an answer wherever it was planted."""

import re
from dataclasses import replace
from functools import partial

import pytest

from answer_keys.keys.answer_key import AnswerKey, pack
from generator.checking.leaks import forbidden_strings
from generator.checking.paper_check import PaperCheck, problems_of_pdf
from generator.paper.handouts import handout_text
from generator.paper.slips import reading_codes, slips_of, slips_text
from generator.sets.paper_parts import paper_parts
from generator.workbooks.class_workbooks import records_of
from tests.absent import library
from tests.drawn import SECRET, plain_workbooks, request
from tests.paper.paper import paper
from workbook.texts import speaking

PAGE = "<html><head><title>Handout</title></head><body><p>Read 12.5 V at the low-side"
own = partial(paper, "graded")
# Words that no German text has.
ENGLISH = re.compile(r"\b(?:the|and|of|is|with|this|to|not|none|low|high|yes|peak)\b")


def key_of(records):
    """The answer key of so many exercises."""
    return AnswerKey(
        set_id=own().workbook.set_id,
        edition=1,
        mode="graded",
        packed={own().workbook.student: pack(records)},
    )


class Place:
    """Where a class set of one student has its paper."""

    request = request("graded", count=1)

    def __init__(self, folder):
        self.set_id = own().workbook.set_id
        self.secret_file = folder / "class-secret.txt"
        self.folder = folder

    @property
    def part(self):
        """The only part of its paper."""
        [part] = paper_parts(self)
        return part

    def handout_file(self, student):
        """Where the handout of a student lies."""
        return self.folder / f"{student}.html"


def problems(folder, handout=None, slips=None):
    """What is found in a handout and in slips, as they are written or changed."""
    place = Place(folder)
    place.handout_file(own().workbook.student).write_text(
        handout or own().handout, encoding="utf-8"
    )
    place.part.slips_file.write_text(slips or own().slips, encoding="utf-8")
    found = checked(place, own().workbook)
    return {path.name: problems for path, problems in found.items()}


def checked(place, workbook, records=None):
    """What is wrong with the paper of a class of one student."""
    key = key_of(records or own().records)
    check = PaperCheck.of(place, SECRET.value, key)
    forbidden = forbidden_strings(SECRET.value, own().records)
    own_problems, taken = check.checked(workbook, forbidden)
    return own_problems | check.of_part(place.part, taken, key)


def test_paper_as_it_is_written_has_no_problem(tmp_path):
    """Handout and slips are named, and sound."""
    assert problems(tmp_path) == {"s01.html": [], "reading-slips.html": []}


def test_paper_in_german_is_german_and_sound(tmp_path):
    """Of the handout and the slips no word is English, also where they are checked."""
    place = Place(tmp_path)
    place.request = replace(place.request, language="de")
    workbook = plain_workbooks("graded")[0]
    with speaking("de"):
        handout = handout_text(workbook, own().codes)
        slips = slips_text(place.set_id, slips_of(workbook), own().codes)
    place.handout_file("s01").write_text(handout, encoding="utf-8")
    place.part.slips_file.write_text(slips, encoding="utf-8")
    assert [*checked(place, workbook).values()] == [[], []]
    for page in (handout, slips):
        assert '<html lang="de">' in page
        words = re.sub(r"<style>.*?</style>|<[^>]*>", " ", page, flags=re.DOTALL)
        assert ENGLISH.findall(words) == []
        assert re.findall(r"\b\d+\.\d+ m?[AVΩ]", words.replace("\u00a0", " ")) == []


def test_paper_that_was_not_written_is_not_missed(tmp_path):
    """Paper is made by choice."""
    assert checked(Place(tmp_path), own().workbook) == {}


def in_comment(page, text):
    """Plant a text where it is not seen."""
    return page.replace("</body>", f"<!-- {text} --></body>")


def in_title(page, text):
    """Plant a text behind a heading."""
    return page.replace("<h2>", f'<h2 title="{text}">', 1)


def in_picture(page, text):
    """Plant a text in a diagram."""
    return page.replace("</svg>", f"<desc>{text}</desc></svg>", 1)


@pytest.mark.parametrize("plant", [in_comment, in_title, in_picture])
@pytest.mark.parametrize("what", ["fault", "number", "secret"])
def test_answer_that_is_planted_in_a_handout_is_found(tmp_path, plant, what):
    """The fault, a right number or the secret, wherever it stands."""
    text, named = {
        "fault": (own().records[0].fault.id, "fault id"),
        "number": (f"{own().records[0].predictions[0].value:.7g}", "answer"),
        "secret": (SECRET.value.hex(), "the class secret"),
    }[what]
    found = problems(tmp_path, handout=plant(own().handout, text))["s01.html"]
    assert any(named in one for one in found)


@pytest.mark.parametrize("at", [0, 5, -1])
def test_reading_that_is_planted_beside_its_code_is_found(tmp_path, at):
    """Readings stand on slips only."""
    test = own().records[0].tests[at]
    code = own().codes["s01", 1, test.id]
    planted = own().handout.replace(f"{code}</span>", f"{code}</span> {test.display}")
    [found] = problems(tmp_path, handout=planted)["s01.html"]
    assert found.startswith("is not what its secret gives")


def test_handout_of_another_student_is_found(tmp_path):
    """Codes of somebody else are no use, and their exercises none of this student."""
    other = plain_workbooks("graded")[1]
    codes = reading_codes(SECRET.value, records_of(other))
    found = problems(tmp_path, handout=handout_text(other, codes))["s01.html"]
    assert any(one.startswith("is not what its secret gives") for one in found)


def with_outcome(slips):
    """Say on a slip what its reading means."""
    return slips.replace("</td>", " (high)</td>", 1)


def with_larger_slip(slips):
    """Make one slip larger than the others."""
    return slips.replace("<td>", '<td style="height: 20mm">', 1)


def by_test(slips):
    """Put two slips out of the order of their codes."""
    return re.sub(r"(<td>.+?</td>)(<td>.+?</td>)", r"\2\1", slips, count=1)


@pytest.mark.parametrize("change", [with_outcome, with_larger_slip, by_test])
def test_slips_that_tell_more_are_found(tmp_path, change):
    """Outcome, size and order would each say something of the answer."""
    assert change(own().slips) != own().slips
    [found] = problems(tmp_path, slips=change(own().slips))["reading-slips.html"]
    assert found.startswith("is not what its secret gives")


def test_key_that_lost_an_exercise_stops_no_check(tmp_path):
    """The lost exercise is told elsewhere."""
    Place(tmp_path).part.slips_file.write_text(own().slips, encoding="utf-8")
    assert checked(Place(tmp_path), own().workbook, own().records[1:]) == {}


@pytest.fixture(scope="module")
def printed():
    """Print a page, some of it planted."""
    weasyprint = library("weasyprint")

    def print_page(page, **options):
        return weasyprint.HTML(string=page).write_pdf(**options)

    return print_page


def test_pdf_that_says_what_its_page_does_has_no_problem(printed):
    """Words, hyphens and the numbers of pages."""
    assert problems_of_pdf(printed(PAGE), PAGE) == []


CLOSE = "<span>12 V battery</span><span style='margin-left: -1mm'>engine off</span>"


def test_words_that_stand_close_are_not_strange(printed):
    """A PDF's text is put together by distances: near words can run together."""
    page = PAGE + CLOSE
    assert problems_of_pdf(printed(page), page) == []


@pytest.mark.parametrize(
    "run_together", ["batteryen", "ttery", "offengine", "low-side12"]
)
def test_only_whole_words_that_follow_one_another_run_together(printed, run_together):
    """Parts of words, words in another order and numbers that meet are strange."""
    page = f"{PAGE} 2 {CLOSE}"
    [found] = problems_of_pdf(printed(f"{page} {run_together} 212"), page)
    assert "page does not: 212" in found
    assert run_together.rpartition("-")[2] in found


LONG = (
    "<p lang='de' style='width: 1mm; hyphens: auto; hyphenate-limit-chars: 8 3 6; "
    'hyphenate-character: "-"\'>Verbraucher</p>'
)


def test_word_that_a_line_breaks_is_not_strange(printed):
    """Its halves are, where the page has no such word."""
    page = PAGE + LONG
    assert problems_of_pdf(printed(page), page) == []
    [found] = problems_of_pdf(printed(page), PAGE)
    assert found.endswith("page does not: Ver, braucher")


@pytest.mark.parametrize(
    ("planted", "said"),
    [
        ("<p>2.54 V", "says what its page does not: 2.54"),
        ("<p>coil_open", "says what its page does not: coil_open"),
        ("<p style='color: white'>coil_open", "page does not: coil_open"),
        ("<p style='position: absolute; left: -90mm'>open", "page does not: open"),
        (
            "<img alt='' src='data:image/svg+xml,<svg><text y=\"9\">no</text></svg>'>",
            "no",
        ),
        (" <a href='https://example.org/coil_open'>Read</a>", "holds notes"),
    ],
)
def test_text_that_is_planted_in_a_pdf_is_found(printed, planted, said):
    """Seen or not."""
    [found] = problems_of_pdf(printed(PAGE + planted), PAGE)
    assert said in found


@pytest.mark.parametrize(
    ("tag", "said"),
    [
        ("<meta name='author' content='coil_open'>", "Author: coil_open"),
        ("<meta name='author' content=' coil_open'>", "Author:  coil_open"),
        ("<meta name='keywords' content='high'>", "Keywords: high"),
        ("<title>Handout: high</title>", "Title: Handout: high"),
    ],
)
def test_metadata_that_is_planted_in_a_pdf_is_found(printed, tag, said):
    """Title and program are all that a PDF says of itself."""
    page = PAGE.replace("<title>Handout</title>", tag)
    problems_found = problems_of_pdf(printed(page), PAGE)
    assert any(said in one for one in problems_found)


def test_file_that_is_attached_to_a_pdf_is_found(printed):
    """Whatever it holds."""
    weasyprint = library("weasyprint")
    key = weasyprint.Attachment(string="x", name="key.txt")
    [found] = problems_of_pdf(printed(PAGE, attachments=[key]), PAGE)
    assert "attached files" in found


def test_damaged_pdf_is_told():
    """Nothing can be said of what cannot be read."""
    [found] = problems_of_pdf(b"%PDF-1.7 and nothing", PAGE)
    assert found.startswith("is no PDF that can be read")
