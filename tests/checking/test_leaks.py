"""No answer stands in what students get, and one that is planted is found."""

import base64
import json
import re
from dataclasses import replace
from functools import cache
from urllib.parse import quote

import pytest

from generator.checking.leaks import forbidden_strings, leaks_in
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.repairs import REPAIRS
from generator.workbooks.key_records import key_record
from generator.workbooks.notebook import notebook_text
from generator.workbooks.page_records import page_record
from tests.drawn import SECRET, workbooks
from workbook.record.sealed import seal, unseal
from workbook.texts import LANGUAGES, speaking, translated

MODES = ("graded", "practice")


@cache
def all_records(mode):
    """The key records of each workbook of a class."""
    return tuple(records_of(workbook) for workbook in workbooks(mode))


def records_of(workbook):
    """The key records of a workbook."""
    identity = {"set_id": "x", "student": workbook.student, "lesson": "x"}
    numbered = enumerate(workbook.exercises, start=1)
    return [key_record(exercise, number, identity) for number, exercise in numbered]


@cache
def written(mode, count):
    """A workbook of some exercises as text, and what it must not hold."""
    workbook = workbooks(mode)[0]
    workbook = replace(workbook, exercises=workbook.exercises[:count])
    forbidden = forbidden_strings(SECRET.value, all_records(mode)[0][:count])
    return notebook_text(workbook), forbidden


def case(mode="graded", count=1):
    """A workbook as JSON, mostly of one exercise, and what it must not hold."""
    text, forbidden = written(mode, count)
    return json.loads(text), forbidden


def found_in(notebook, forbidden, mode="graded"):
    """What the search reports of a notebook."""
    return leaks_in(json.dumps(notebook), forbidden, mode)


def values_of(records):
    """Every right number and edge of its band."""
    return [
        value
        for record in records
        for answer in (*record.predictions, record.verification)
        for value in (answer.value, *answer.band)
    ]


def base64_text(data):
    """Base64 as text."""
    return base64.b64encode(data).decode()


@pytest.mark.parametrize("mode", MODES)
def test_workbooks_hold_no_leak(mode):
    """The search finds nothing in a class as it is written."""
    for workbook, records in zip(workbooks(mode), all_records(mode), strict=True):
        forbidden = forbidden_strings(SECRET.value, records)
        assert leaks_in(notebook_text(workbook), forbidden, mode) == []


def planted_in_cell(notebook, text):
    """Put a text into the source of a cell."""
    notebook["cells"][1]["source"] += f"\nWell, {text}."


def planted_in_lines(notebook, text):
    """Put a text across two lines of a source that is kept as a list."""
    notebook["cells"][1]["source"] = ["so " + text[:4], text[4:] + " it is"]


def planted_in_cell_id(notebook, text):
    """Name a cell by a text."""
    notebook["cells"][0]["id"] = f"about-{text}"


def planted_in_cell_metadata(notebook, text):
    """Tag a cell with a text."""
    notebook["cells"][0]["metadata"]["tags"] = ["a", text]


def planted_in_metadata_name(notebook, text):
    """Use a text as a name in the metadata."""
    notebook["metadata"][text] = True


def planted_in_attachment(notebook, text):
    """Put a text into an attached picture."""
    data = base64_text(b"\x89PNG\r\n\xfftEXt" + text.encode())
    notebook["cells"][0]["attachments"] = {"a.png": {"image/png": data}}


def planted_in_wrapped_attachment(notebook, text):
    """Put a text into an attached picture whose base64 is broken into lines."""
    lines = base64.encodebytes(bytes(57 * 3 - 5) + text.encode()).decode()
    notebook["cells"][0]["attachments"] = {
        "a.png": {"image/png": lines.splitlines(keepends=True)}
    }


def planted_in_picture_title(notebook, text):
    """Put a text into the title of a picture in the page."""
    svg = f"<svg><title>{text}</title></svg>".encode()
    notebook["cells"][2]["source"] += (
        f'<img src="data:image/svg+xml;base64,{base64_text(svg)}">'
    )


def planted_in_quoted_picture(notebook, text):
    """Put a text into a picture whose address quotes every character."""
    quoted = "".join(f"%{byte:02x}" for byte in f"<svg>{text}</svg>".encode())
    notebook["cells"][2]["source"] += f"<img src='data:image/svg+xml;x=1,{quoted}'>"


def planted_in_picture_with_charset(notebook, text):
    """Put a text into a base64 address that names a character set."""
    data = quote(base64_text(text.encode()))
    notebook["cells"][2]["source"] += (
        f"![](data:text/plain;charset=utf-8;base64,{data})"
    )


def planted_in_output(notebook, text):
    """Print a text in a cell."""
    code = next(c for c in notebook["cells"] if c["cell_type"] == "code")
    code["outputs"] = [{"output_type": "stream", "name": "stdout", "text": text}]


def planted_in_output_picture(notebook, text):
    """Put a text into a picture that a cell shows."""
    code = next(c for c in notebook["cells"] if c["cell_type"] == "code")
    data = {"image/png": base64_text(b"\x89PNG" + text.encode())}
    code["outputs"] = [{"output_type": "display_data", "data": data, "metadata": {}}]


def resealed(notebook, change):
    """Change the sealed part of a notebook."""
    own = notebook["metadata"]["clampbook"]
    payload = unseal(own["sealed"])
    change(payload["exercises"][0])
    own["sealed"] = seal(payload)


def planted_in_sealed_name(notebook, text):
    """Use a text as a name in the sealed part."""
    resealed(notebook, lambda exercise: exercise.update({text: 1}))


def planted_in_sealed_value(notebook, text):
    """Put a text into a test of the sealed part."""
    resealed(notebook, lambda exercise: exercise["tests"][0].update(how=f"({text})"))


PLACES = [
    made for name, made in sorted(globals().items()) if name.startswith("planted")
]


@pytest.mark.parametrize("plant", PLACES)
@pytest.mark.parametrize("mode", MODES)
def test_planted_leak_is_found(plant, mode):
    """A fault is found wherever it was put."""
    notebook, forbidden = case(mode)
    plant(notebook, "coil_open")
    assert any("fault id coil_open" in each for each in found_in(notebook, forbidden))


def test_every_id_is_found():
    """Faults, repairs and misconceptions are found, in small and capital letters."""
    notebook, forbidden = case()
    cells, ids = (
        notebook["cells"],
        (*FAULTS, *REPAIRS, "Replace_RELAY", "none_blames_relay"),
    )
    first = len(cells)
    cells += [cells[1] | {"source": f"Well, {text}."} for text in ids]
    found = found_in(notebook, forbidden)
    for place, text in enumerate(ids, first):
        here = [each for each in found if each.startswith(f"$.cells[{place}].source: ")]
        assert any(each.endswith(text.lower()) for each in here), text


@pytest.mark.parametrize(
    "text",
    [
        SECRET.value.hex().upper(),
        SECRET.value.hex(" "),
        base64.b64encode(SECRET.value).decode(),
        base64.urlsafe_b64encode(SECRET.value).decode(),
        base64.b32encode(SECRET.value).decode(),
    ],
)
def test_secret_is_found_in_every_spelling(text):
    """The class secret is found in the common ways to write bytes."""
    notebook, forbidden = case()
    planted_in_cell(notebook, text)
    assert found_in(notebook, forbidden) == ["$.cells[1].source: the class secret"]


def test_secret_is_found_as_bytes():
    """The bytes of the class secret are found in an attachment."""
    notebook, forbidden = case()
    data = base64_text(b"\xff\xfe" + SECRET.value + b"\xff")
    notebook["cells"][0]["attachments"] = {"a.png": {"image/png": data}}
    (found,) = found_in(notebook, forbidden)
    assert found.endswith("(decoded): the class secret")


@pytest.mark.parametrize(
    "write",
    [
        repr,
        lambda v: f"{v:.7g} A",
        lambda v: f"{v * 1e3:.7g} mA",
        lambda v: f"{v * 1e6:.8g} µV",
        lambda v: f"{v:.7g}".replace(".", ","),
        lambda v: f"{v:.6e}",
    ],
)
def test_number_is_found_in_every_format(write):
    """A right number is found however it is written."""
    # One that happens to be nearly round cannot be told from a rounded number.
    values = [
        value
        for value in values_of(all_records("graded")[0][:1])
        if len(f"{value:.7g}".strip("0.").replace(".", "")) >= 6
    ]
    notebook, forbidden = case()
    cell = notebook["cells"][1]
    notebook["cells"] = [{**cell, "source": write(value)} for value in values]
    found = {place.split(":")[0] for place in found_in(notebook, forbidden)}
    assert found == {f"$.cells[{place}].source" for place in range(len(values))}


@pytest.mark.parametrize("write", ["U{}V", "9{}9", "-{},", "a,{}e+", "{}.{}"])
def test_number_is_found_between_other_characters(write):
    """A right number is found whatever stands close about it, digits too."""
    value = repr(all_records("graded")[0][0].verification.value)
    notebook, forbidden = case()
    notebook["cells"] = [{**notebook["cells"][1], "source": write.format(value, value)}]
    found = found_in(notebook, forbidden)
    assert "$.cells[0].source: answer after_repair of exercise 1" in found


def test_number_is_found_as_a_number():
    """A right number is found in JSON and in the sealed part of a graded set."""
    value = all_records("graded")[0][0].verification.band[1]
    notebook, forbidden = case()
    resealed(notebook, lambda exercise: exercise["verification"].update(high=value))
    notebook["metadata"]["limit"] = value
    found = found_in(notebook, forbidden)
    answer = "answer after_repair of exercise 1"
    assert f"$.metadata.limit: {answer}" in found
    assert f"sealed.exercises[0].verification.high: {answer}" in found


@pytest.mark.parametrize("language", LANGUAGES)
def test_mistake_of_a_test_is_found_in_a_graded_set(language):
    """What is wrong with a test must not stand anywhere that a student can read."""
    notebook, forbidden = case()
    record = all_records("graded")[0][0]
    mistake = next(test.mistake for test in record.tests if test.mistake)
    with speaking(language):
        notebook["cells"][1]["source"] += translated(mistake)
    assert "mistake of" in found_in(notebook, forbidden)[0]


def test_damaged_seal_is_reported():
    """A sealed part that cannot be searched is no clean one."""
    notebook, forbidden = case()
    notebook["metadata"]["clampbook"]["sealed"] = "AAAA"
    assert found_in(notebook, forbidden) == ["sealed: The sealed text is damaged."]


# From here on, a search of its own that shares no line with the one above.


def everything_in(value):
    """Every name, string and number of a JSON value, as texts."""
    if isinstance(value, dict):
        return [
            t for pair in value.items() for part in pair for t in everything_in(part)
        ]
    if isinstance(value, list):
        return [text for part in value for text in everything_in(part)]
    return [value if isinstance(value, str) else repr(value)]


def opened(texts):
    """Texts with all that is packed in base64 in them."""
    packed = re.findall(r"base64,([\w+/=]+)", "\n".join(texts))
    return [*texts, *(base64.b64decode(data).decode() for data in packed)]


@pytest.mark.parametrize("mode", MODES)
def test_no_id_and_no_secret_stands_anywhere(mode):
    """No fault id, repair id or secret is in any text, sealed or not."""
    secret = SECRET.value
    words = [*FAULTS, *REPAIRS, secret.hex(), base64_text(secret)[:-1]]
    for workbook in workbooks(mode):
        notebook = json.loads(notebook_text(workbook))
        texts = opened(everything_in(notebook))
        assert any("<svg" in text for text in texts)
        payload = unseal(notebook["metadata"]["clampbook"]["sealed"])
        everything = "\n".join(texts + everything_in(payload)).lower()
        assert [word for word in words if word.lower() in everything] == []


def formats_of(value):
    """A number with five and more digits, in the units and prefixes of the page."""
    scaled = (value, value * 1e3)
    texts = {f"{v:.{digits}g}" for v in scaled for digits in (5, 6, 7, 17)}
    return {text for text in texts if len(re.sub(r"\D", "", text).strip("0")) >= 5}


def test_no_right_number_stands_in_a_graded_workbook():
    """No value or band of a graded set is in any text of it, sealed or not."""
    for workbook, records in zip(
        workbooks("graded"), all_records("graded"), strict=True
    ):
        notebook = json.loads(notebook_text(workbook))
        payload = unseal(notebook["metadata"]["clampbook"]["sealed"])
        texts = [*opened(everything_in(notebook)), *everything_in(payload)]
        numbers = {n for text in texts for n in re.findall(r"\d+(?:\.\d+)?", text)}
        for value in values_of(records):
            assert not formats_of(value) & numbers


def test_graded_payload_holds_nothing_but_what_the_page_shows():
    """A graded exercise has questions, tests and words on offer, and no judgement."""
    notebook, _ = case(count=3)
    for exercise in unseal(notebook["metadata"]["clampbook"]["sealed"])["exercises"]:
        assert exercise.pop("feedback") is None
        assert exercise.pop("bench") is None
        assert not exercise.pop("is_unlisted")
        assert exercise.pop("given") is None
        names = set(re.findall(r'"(\w+)":', json.dumps(exercise)))
        names -= {correction["id"] for correction in exercise["corrections"]}
        assert names == {
            *("number", "kind", "title", "predictions", "tests", "questions"),
            *("causes", "corrections"),
            *(
                "verification",
                "verifications",
                "id",
                "label",
                "unit",
                "help",
                "how",
                "before",
            ),
            *("minutes", "hazards", "outcomes", "display", "instrument"),
            *("picture", "svg", "alt"),
            *("places", "where", "risk", "needs"),
            *("sections", "branch", "statements", "text", "cleared", "suspect"),
            *("circuit", "complaint", "parts", "sheet", "spots", "frame", "sign"),
            *("flags", "x", "y", "width", "anchor"),
            *("range", "tool", "at", "signs"),
        }


def test_marks_on_the_diagram_follow_from_the_tests_alone():
    """Where a test is done is the same whatever is broken."""
    shown = {}
    for workbook in (*workbooks("graded"), *workbooks("practice")):
        for number, exercise in enumerate(workbook.exercises, 1):
            variant = exercise.specification.variant
            for test in page_record(exercise, number, "graded").tests:
                coil = variant.fuses, variant.drive, variant.coil_supply
                way = test.id, variant.switch, coil
                marks = (test.at, test.tool, test.signs)
                assert shown.setdefault(way, marks) == marks
    assert len(shown) > 30


def test_causes_on_offer_stand_in_the_order_of_the_catalogue():
    """The place of the right cause says nothing: the order never changes."""
    order = list(FAULTS)
    for records in all_records("graded"):
        for record in records:
            offered = [order.index(cause.fault) for cause in record.causes]
            assert offered == sorted(offered)


@pytest.mark.parametrize("name", ["display", "picture", "given", "feedback"])
def test_reading_is_found_in_an_examination(name):
    """As what an instrument shows, or as what is known only from that."""
    workbook = replace(workbooks("graded")[0], mode="examination")
    diagnosis = next(e for e in workbook.exercises if e.radical.kind == "diagnosis")
    workbook = replace(workbook, exercises=(diagnosis,))
    forbidden = forbidden_strings(SECRET.value, records_of(workbook))
    notebook = json.loads(notebook_text(workbook))
    assert found_in(notebook, forbidden, "examination") == []
    own = notebook["metadata"]["clampbook"]
    opened = unseal(own["sealed"])
    [exercise] = opened["exercises"]
    if name in ("display", "picture"):
        exercise["tests"][0][name] = "12"
        said = f"the reading of {exercise['tests'][0]['id']}"
    else:
        exercise[name] = [{"kind": "test"}]
        said = f"{name} of"
    own["sealed"] = seal(opened)
    assert found_in(notebook, forbidden, "examination") == [
        f"sealed: {said} {'in ' if name in ('display', 'picture') else ''}exercise 1"
    ]
