"""A workbook is a valid, locked notebook without outputs, always the same bytes."""

import json
import math
import re
from dataclasses import replace

import nbformat
import pytest

from generator.model.variant import Variant
from generator.workbooks.notebook import notebook_text
from tests.drawn import workbooks
from tests.keys import page_content_of
from workbook.cautions import CAUTIONS
from workbook.record.sealed import unseal

MODES = ("practice", "graded")


@pytest.fixture(scope="module", params=MODES)
def workbook(request):
    """One student's workbook of each kind."""
    return workbooks(request.param)[0]


@pytest.fixture(scope="module")
def text(workbook):
    """Its notebook as text."""
    return notebook_text(workbook)


@pytest.fixture(scope="module")
def notebook(text):
    """Its notebook as JSON."""
    return json.loads(text)


def markdown(notebook):
    """All that the page says, in one text."""
    cells = notebook["cells"]
    return "\n".join(
        "".join(c["source"]) for c in cells if c["cell_type"] == "markdown"
    )


def test_notebook_is_valid(text):
    """It passes the schema of nbformat 4.5, and nothing has to be repaired."""
    read = nbformat.reads(text, as_version=4)
    nbformat.validate(read)
    assert (read.nbformat, read.nbformat_minor) == (4, 5)


def test_notebook_is_the_same_byte_for_byte(workbook, text):
    """Written again it does not differ, and it ends with one line break."""
    assert notebook_text(workbook) == text
    assert text.endswith("}\n")
    assert "\r" not in text


def test_notebook_has_no_outputs(notebook):
    """Nothing has been run."""
    code = [cell for cell in notebook["cells"] if cell["cell_type"] == "code"]
    assert len(code) == 3
    assert all(cell["outputs"] == [] for cell in code)
    assert all(cell["execution_count"] is None for cell in code)


def test_every_cell_is_locked(notebook):
    """Nothing of the workbook is changed or deleted by accident."""
    for cell in notebook["cells"]:
        assert cell["metadata"]["editable"] is False
        assert cell["metadata"]["deletable"] is False


def test_cell_ids_are_fixed_and_speak(notebook):
    """Ids are drawn by no chance, so that two copies never differ."""
    assert [cell["id"] for cell in notebook["cells"]] == [
        "start",
        "lesson-1",
        *(f"{kind}-{n}" for n in (1, 2, 3) for kind in ("circuit", "exercise")),
        "end",
    ]


def test_each_exercise_has_one_cell_to_run(notebook):
    """Exactly the line that opens its form, out of sight."""
    code = [cell for cell in notebook["cells"] if cell["cell_type"] == "code"]
    assert ["".join(cell["source"]) for cell in code] == [
        f"import workbook; workbook.exercise({n})" for n in (1, 2, 3)
    ]
    assert all(cell["metadata"]["jupyter"] == {"source_hidden": True} for cell in code)


def test_metadata_names_kernel_student_and_set(workbook, notebook):
    """What the page and the hand-in need, under names of their own."""
    assert notebook["metadata"]["kernelspec"] == {
        "name": "python3",
        "display_name": "Python 3",
        "language": "python",
    }
    ours = notebook["metadata"]["clampbook"]
    assert set(ours) == {
        *("format", "set_id", "student", "edition", "mode", "language", "title"),
        "sealed",
    }
    assert (ours["format"], ours["edition"]) == (1, 1)
    assert ours["student"] == workbook.student == "s01"
    assert ours["set_id"] == workbook.set_id
    assert ours["mode"] == workbook.mode


def test_sealed_readings_are_the_pages_of_the_exercises(workbook, notebook):
    """Numbered from 1, in their order, with feedback for practice alone."""
    payload = unseal(notebook["metadata"]["clampbook"]["sealed"])
    assert payload == {
        "format": 1,
        "exercises": [
            page_content_of(exercise, n, workbook.mode)
            for n, exercise in enumerate(workbook.exercises, start=1)
        ],
    }


def test_page_says_the_cautions_and_the_mode(workbook, notebook):
    """Every caution, and whether marks or feedback come of it."""
    said = markdown(notebook)
    assert all(caution in said for caution in CAUTIONS)
    assert f"**{workbook.mode} set**" in said


def test_cautions_stand_open_and_aims_of_many_lessons_are_folded():
    """Who opens the workbook sees the cautions without scrolling past a long list."""
    one = workbooks("practice")[0]
    [lesson] = one.lessons
    start, folded = (
        "".join(json.loads(notebook_text(each))["cells"][0]["source"])
        for each in (
            one,
            replace(one, lessons=(lesson, lesson)),
        )
    )
    assert "<details>" not in start
    assert folded.index(CAUTIONS[-1]) < folded.index("<details>")
    assert all(aim in folded.split("<details>")[1] for aim in one.aims)


def test_each_exercise_shows_complaint_diagram_and_sheet(workbook, notebook):
    """What a technician has in hand before the first test."""
    cells = {cell["id"]: "".join(cell["source"]) for cell in notebook["cells"]}
    for number, exercise in enumerate(workbook.exercises, start=1):
        said = cells[f"circuit-{number}"].replace("\u00a0", " ")
        assert exercise.complaint in said
        assert re.search(r'<img alt="[^"]{40,}" src="data:image/svg\+xml;base64,', said)
        for row in exercise.specification.sheet:
            assert f"| {row.quantity} | {row.value:g} {row.unit} |" in said


def test_tables_have_as_many_cells_in_every_row(notebook):
    """No text breaks the table that it stands in."""
    for block in re.findall(r"(?:^\|.*\|$\n?)+", markdown(notebook), flags=re.M):
        widths = {len(re.findall(r"(?<!\\)\|", line)) for line in block.splitlines()}
        assert len(widths) == 1


def test_graded_notebook_says_nothing_of_the_answer():
    """No name of the fault or of its repair stands anywhere in the file."""
    workbook = workbooks("graded")[0]
    shown = json.loads(notebook_text(workbook))
    payload = unseal(shown["metadata"]["clampbook"].pop("sealed"))
    for test in (t for e in payload["exercises"] for t in e["tests"]):
        del test["id"]
    everything = json.dumps([shown, payload])
    for exercise in workbook.exercises:
        assert exercise.fault.id not in everything
        assert exercise.fault.repair not in everything


def built_another_way(variant, **values):
    """A workbook of one exercise whose circuit is built in another way."""
    workbook = workbooks("practice")[0]
    exercise = workbook.exercises[0]
    specification = exercise.specification
    names = specification.source_names
    changed = replace(
        specification,
        variant=variant,
        source_names=replace(names, upstream="main relay K1", load_fuse="F77"),
        family=specification.family.model_copy(update={"system_v": 24}),
        nominal=replace(specification.nominal, **values),
    )
    return replace(workbook, exercises=(replace(exercise, specification=changed),))


def circuit_table(workbook):
    """The rows of the only exercise's circuit in words."""
    cells = json.loads(notebook_text(workbook))["cells"]
    text = next("".join(c["source"]) for c in cells if c["id"] == "circuit-1")
    text = text.replace("\u00a0", " ")
    table = text.split("### The circuit in words")[1].split("### Specification")[0]
    return [line.strip("| ").split(" | ") for line in table.strip().splitlines()[2:]]


def test_diagram_shows_how_the_circuit_is_built():
    """Battery, main relay, shared fuse and high-side driver come from its variant."""
    variant = Variant(
        fuses="shared", drive="high side", upstream="main relay", supply="battery only"
    )
    rows = circuit_table(built_another_way(variant, load_fuse_rating_a=25))
    assert [row[0] for row in rows[:3]] == [
        "24 V battery",
        "main relay K1",
        "fuse F77",
    ]
    assert "engine off" in rows[0][3]
    assert rows[2][3] == "25 A, both circuits"
    assert rows[3][0].endswith("high-side driver")


@pytest.mark.parametrize(
    ("ohm", "kind"),
    [(math.inf, "diode"), (680.0, "resistor")],
    ids=["diode", "resistor"],
)
def test_diagram_shows_the_kind_of_suppression(ohm, kind):
    """A diode carries nothing while the coil is fed, so its resistance is endless."""
    rows = circuit_table(
        built_another_way(Variant(), suppression_ohm=ohm, has_diode=kind == "diode")
    )
    note = next(row[3] for row in rows if row[0].endswith("relay coil"))
    assert note.startswith(f"suppression inside the relay: {kind} in parallel")


def test_bar_in_a_text_does_not_end_its_table_cell():
    """A designation with a bar stays in its cell."""
    workbook = workbooks("practice")[0]
    exercise = workbook.exercises[0]
    specification = exercise.specification
    names = replace(specification.source_names, load="fan | left")
    specification = replace(specification, source_names=names)
    changed = replace(exercise, specification=specification)
    text = notebook_text(replace(workbook, exercises=(changed,)))
    assert r"fan \\| left" in text
