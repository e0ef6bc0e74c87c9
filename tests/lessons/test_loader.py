"""Every fault of an instructor's files is told at once: file, line, what to do."""

import shutil

import pytest

from answer_keys.checked_toml import line_of, lines_of
from answer_keys.marking.rubric import rubric_text
from answer_keys.weights import DEFAULT_WEIGHTS
from generator.drawing.specification import new_specification
from generator.drawing.stream import Stream
from generator.model.variant import Variant
from lessons.errors import LessonError
from lessons.loader import LESSONS_FOLDER, lesson_ids, read_lesson

LESSON = """\
id = "mixed-diagnosis"
number = 10
title = "Choose the next test: least minutes to a proved cause"
aims = ["Predict both currents and the display before the first test."]
families = ["cooler-fan", "wiper-heater", "tiller-lock"]
faults = "all"
tests = "all"
supply_v = [13.8, 14.4]
coil = ["workshop", "cold morning", "after work"]

[symptoms]
does_nothing = 6
works_weakly = 3
never_stops = 2
comes_and_goes = 1
runs_hot = 1
upsets_the_module = 1
"""
EXAMPLES = """
name = "fan"
family = "cooler-fan"
fault = "load_ground_open"
"""
RUBRIC = rubric_text().partition("\n# Which of")[0].partition("\n\n")[2]
LESSON += f"\n{RUBRIC}"
FAMILY = (LESSONS_FOLDER / "parts" / "cooler-fan.toml").read_text("utf-8")


@pytest.fixture
def folder(tmp_path):
    """A lesson of one's own with one family of its own, both without fault."""
    own = tmp_path / "own"
    (own / "parts").mkdir(parents=True)
    write_lesson(own)
    write_family(own)
    (own / "lesson.md").write_text("What to learn.\n", "utf-8")
    return own


def write_lesson(folder, *changes):
    """Write a lesson like ours, some of its text replaced."""
    text = replaced(LESSON, *changes)
    text = replaced(text, ('"cooler-fan", "wiper-heater", "tiller-lock"', '"my-fan"'))
    (folder / "lesson.toml").write_text(text, "utf-8")


def write_family(folder, *changes):
    """Write a family like ours, some of its text replaced."""
    text = replaced(FAMILY, *changes)
    text = text.replace('id = "cooler-fan"', 'id = "my-fan"')
    (folder / "parts" / "my-fan.toml").write_text(text, "utf-8")


def replaced(text, *changes):
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def problems_of(folder):
    """What is wrong, as (file name, line, message)."""
    with pytest.raises(LessonError) as caught:
        read_lesson(folder)
    return [(p.path.name, p.line, p.message) for p in caught.value.problems]


def line_with(path, text):
    """Number of the first line of a file that holds a text."""
    lines = path.read_text("utf-8").splitlines()
    return next(number for number, line in enumerate(lines, 1) if text in line)


def test_own_lesson_is_read_from_its_folder(folder):
    """Lesson, text and family of one's own come together."""
    book = read_lesson(folder)
    assert book.text == "What to learn.\n"
    assert [family.id for family in book.families] == ["my-fan"]
    assert read_lesson(str(folder)) == book


def test_lesson_names_a_rubric_only_where_it_departs(folder):
    """Its own marks are taken, all six; without them the usual ones."""
    write_lesson(folder, ("cause = 20", "cause = 35"))
    assert read_lesson(folder).lesson.rubric.cause == 35
    write_lesson(folder, (RUBRIC, ""))
    assert read_lesson(folder).lesson.rubric == DEFAULT_WEIGHTS
    write_lesson(folder, ("cause = 20\n", ""))
    [(_, line, message)] = problems_of(folder)
    assert line == line_with(folder / "lesson.toml", "[rubric]")
    assert message.startswith("rubric.cause: is missing")


def test_parts_beside_the_lesson_are_found(folder):
    """Several lessons of one's own may share one parts folder."""
    shutil.move(folder / "parts", folder.parent / "parts")
    assert [family.id for family in read_lesson(folder).families] == ["my-fan"]


def test_own_family_goes_before_ours(folder):
    """A file of the same name in one's own parts folder is taken."""
    (folder / "lesson.toml").write_text(LESSON, "utf-8")
    own = FAMILY.replace('load = "oil cooler fan"', 'load = "own fan"')
    (folder / "parts" / "cooler-fan.toml").write_text(own, "utf-8")
    loads = [family.load for family in read_lesson(folder).families]
    assert loads == ["own fan", "wiper rest heater", "tiller lock valve"]


@pytest.mark.parametrize(
    ("old", "new", "key", "said"),
    [
        ('title = "Choose', 'titel = "Mixed', "titel", "Write one of id, title, aims"),
        ("supply_v = [13.8, 14.4]", "supply_v = [14.4, 13.8]", "supply_v", "lower end"),
        ("supply_v = [13.8, 14.4]", "supply_v = [-1, 14]", "supply_v", "than 0"),
        ("supply_v = [13.8, 14.4]", "supply_v = [1, inf]", "supply_v", "finite"),
        ("supply_v = [13.8, 14.4]", "supply_v = [14]", "supply_v", "missing"),
        ("supply_v = [13.8, 14.4]", 'supply_v = "14"', "supply_v", "list"),
        (
            'tests = "all"',
            'tests = "all"\ngiven_tests = [-1]',
            "given_tests",
            "must be 0 or more",
        ),
        ('tests = "all"', 'tests = "all"\ngiven_tests = 2', "given_tests", "list"),
        (
            'faults = "all"',
            'faults = ["coil_opne", "coil_open"]',
            "faults",
            "coil_open,",
        ),
        ('faults = "all"', 'faults = ["coil_open"]', "faults", "at least 2"),
        ('tests = "all"', 'tests = ["look", "read_enable"]', "tests", "load_current,"),
        ('tests = "all"', 'tests = ["read_enable", "voltage_86"]', "tests", "Write it"),
        ('id = "mixed-diagnosis"', 'id = "Mixed!"', "id", "pattern"),
        ("does_nothing = 6", "does_nothing = -6", "does_nothing", "must be 0 or more"),
        (
            "works_weakly = 3",
            "works_weakly = 3\nhums = 1",
            "hums",
            "one of does_n",
        ),
        ("predictions = 20", 'predictions = "a lot"', "predictions", "number"),
        ("findings = 20", "findings = 1e6", "findings", "must be 1000 or less"),
    ],
)
def test_fault_of_a_lesson_is_told_with_its_line(folder, old, new, key, said):
    """Unknown keys, wrong types, ranges, names and weights, each where it stands."""
    write_lesson(folder, (old, new))
    [(name, line, message)] = [
        problem
        for problem in problems_of(folder)
        if "title: is missing" not in problem[2]
    ]
    assert name == "lesson.toml"
    assert line == line_with(folder / "lesson.toml", f"{key} =")
    assert said in message


@pytest.mark.parametrize(
    ("old", "new", "key", "said"),
    [
        ('kind = "fan motor"', 'kind = "fan"', "kind =", "'heater', 'pulsed heater', "),
        ("rated = 5.0", "rated = 50.0", "rated =", "must be 20 or less"),
        ("rated_a = [9.0, 14.0]", "rated_a = [9.0, 0.0]", "rated_a =", "than 0"),
        (
            "coil_ohm = [78.0, 98.0]",
            "coil = [78.0, 98.0]",
            "coil =",
            "Write coil_ohm",
        ),
        ('relay = ["K5", "K6", "K8"]', "relay = []", "relay =", "at least 1"),
        (
            "suppression_ohm = [680.0]",
            "suppression_ohm = []",
            "suppression_",
            "at least",
        ),
        ('work = "the fan', 'work = "" # "the fan', "work =", "at least 1 char"),
        ("[0.14, 0.20]", "[0.14, 1.20]", "armature_frac =", "less than 1"),
        ("[78.0, 98.0]", "[-78.0, 98.0]", "coil_ohm =", "greater than 0 (given: -78.0"),
        ("[78.0, 98.0]", '["78 ohm", 98]', "coil_ohm =", "unit stands in the name"),
        ("[78.0, 98.0]", "[7.8, 9.8]", "coil_ohm =", "Write 15 Ω or more"),
        ("[9.0, 14.0]", "[9.0, 34.0]", "rated_a =", "the largest blade fuse has 40 A"),
        (
            "rated_a = [9.0, 14.0]",
            "rated_a = [9.0, 14.0]\nfuse_a = 10",
            "fuse_a =",
            "Write one of 20, 25, 30, 35, 40 (given: 10",
        ),
        (
            "rated_a = [9.0, 14.0]",
            "rated_a = [9.0, 14.0]\nrated_ma = [9000, 14000]",
            "rated_ma =",
            "no such key. Write rated_a, with the unit in its name",
        ),
        (
            "wire_area_mm2",
            "wire_area_awg = [12]\nwire_area_mm2",
            "wire_area_awg =",
            "Write wire_area_mm2",
        ),
        (
            'supply = ["charging"] ',
            'supply = ["battery only"] ',
            "supply =",
            """with the supply 'battery only'. Write supply = ["charging"]""",
        ),
    ],
)
def test_fault_of_a_family_is_told_with_its_line(folder, old, new, key, said):
    """A component family is checked as strictly as a lesson."""
    write_family(folder, (old, new))
    found = [p for p in problems_of(folder) if "coil_ohm: is missing" not in p[2]]
    [(name, line, message)] = found
    assert name == "my-fan.toml"
    assert line == line_with(folder / "parts" / "my-fan.toml", key)
    assert said in message


def test_missing_key_is_told_at_its_table(folder):
    """The line is that of the table which lacks it."""
    write_family(folder, ('relay = ["K5", "K6", "K8"]\n', ""))
    [(_, line, message)] = problems_of(folder)
    assert line == line_with(folder / "parts" / "my-fan.toml", "[names]")
    assert message == (
        "names.relay: is missing. Write a list of 1 or more, each a text."
    )


@pytest.mark.parametrize(
    ("old", "said"),
    [
        (('mechanism = "fan rotor"\n', ""), "a fan motor moves something"),
        (
            ('"fan motor"', '"pulsed heater"'),
            "duty_frac: a pulsed heater pauses",
        ),
        (
            (
                'mechanism = "fan rotor"\n',
                'mechanism = "fan rotor"\nno_jumper = true\n',
            ),
            "no_jumper: what no jumper may free",
        ),
    ],
)
def test_family_needs_what_its_model_needs(folder, old, said):
    """What only one kind of load needs is asked for by name."""
    write_family(folder, old)
    [(_, _, message)] = problems_of(folder)
    assert said in message


def test_missing_tolerance_is_told_with_what_to_write(folder):
    """One tolerance at its table, and the whole table at the first line."""
    write_family(folder, ("coil = 5.0\n", ""))
    [(_, line, message)] = problems_of(folder)
    path = folder / "parts" / "my-fan.toml"
    assert line == line_with(path, "[tolerance_percent]")
    wanted = "a number above 0 up to 20"
    assert message == f"tolerance_percent.coil: is missing. Write {wanted}."
    text = path.read_text("utf-8")
    path.write_text(text[: text.index("[tolerance_percent]")], "utf-8")
    [(_, line, message)] = problems_of(folder)
    assert line == 1
    assert message.endswith("Write a table with rated, coil, resistance.")


def test_every_fault_of_one_part_file_is_told(folder):
    """A sign, a unit, a rating, a tolerance and a missing name, each with its line."""
    write_family(
        folder,
        ('mechanism = "fan rotor"\n', ""),
        ("rated_a = [9.0, 14.0]", "rated_a = [9.0, 14.0]\nfuse_a = 15"),
        ("coil_ohm = [78.0, 98.0]", "coil_kohm = [0.078, 0.098]"),
        ("suppression_ohm = [680.0]", "suppression_ohm = [-680.0]"),
        ("coil = 5.0\n", ""),
    )
    path = folder / "parts" / "my-fan.toml"
    assert {
        (line, message.partition(":")[0]) for _, line, message in problems_of(folder)
    } == {
        (1, "mechanism"),
        (line_with(path, "fuse_a ="), "ranges.fuse_a"),
        (line_with(path, "coil_kohm ="), "ranges.coil_kohm"),
        (line_with(path, "[ranges]"), "ranges.coil_ohm"),
        (line_with(path, "suppression_ohm ="), "ranges.suppression_ohm.0"),
        (line_with(path, "[tolerance_percent]"), "tolerance_percent.coil"),
    }


def test_fuse_of_a_family_is_the_one_drawn(folder):
    """A family that names its fuse gets it, whatever would be large enough."""
    write_family(
        folder, ("rated_a = [9.0, 14.0]", "rated_a = [9.0, 14.0]\nfuse_a = 30")
    )
    book = read_lesson(folder)
    stream = Stream(bytes(32), "fuse")
    drawn = new_specification(book.lesson, book.families[0], Variant(), stream)
    assert drawn.nominal.load_fuse_rating_a == 30


def test_symptoms_need_a_weight(folder):
    """With all weights at nought nothing could be drawn."""
    weights = ("does_nothing = 6", "works_weakly = 3", "never_stops = 2")
    weights += ("comes_and_goes = 1", "runs_hot = 1", "upsets_the_module = 1")
    write_lesson(folder, *((w, w[:-1] + "0") for w in weights))
    [(_, line, message)] = problems_of(folder)
    assert line == line_with(folder / "lesson.toml", "[symptoms]")
    assert "all weights are 0. Give one of the symptoms more" in message


def test_faults_of_all_files_are_told_at_once(folder):
    """Lesson, family and text: nothing hides behind the first fault."""
    write_lesson(
        folder, ("findings = 20", "findings = -1"), ("13.8, 14.4", "14.4, 13.8")
    )
    write_family(folder, ("rated = 5.0", "rated = 50.0"), ('"fan motor"', '"fan"'))
    (folder / "lesson.md").unlink()
    found = problems_of(folder)
    assert sorted(name for name, _, _ in found) == [
        "lesson.md",
        *["lesson.toml"] * 2,
        *["my-fan.toml"] * 2,
    ]
    with pytest.raises(LessonError) as caught:
        read_lesson(folder)
    assert str(caught.value).count("\n") == len(found) - 1
    assert f"lesson.toml, line {found[0][1]}: " in str(caught.value)


def test_unknown_family_is_told_with_the_known_ones(folder):
    """The line is that of the list of families."""
    shutil.rmtree(folder / "parts")
    [(name, line, message)] = problems_of(folder)
    assert (name, line) == (
        "lesson.toml",
        line_with(folder / "lesson.toml", "families ="),
    )
    assert "no parts/my-fan.toml. Write one of cab-blower, " in message
    assert ", tiller-lock, " in message


def test_family_carries_the_name_of_its_file(folder):
    """A copied family under a new name needs an id of its own."""
    (folder / "parts" / "my-fan.toml").write_text(FAMILY, "utf-8")
    [(name, line, message)] = problems_of(folder)
    assert (name, line) == ("my-fan.toml", line_with(folder / "parts" / name, "id ="))
    assert message == "id: it is 'cooler-fan'. Write the file's name, 'my-fan'."


@pytest.mark.parametrize("families", ["7", "[7]", '"my-fan"', "[]"])
def test_families_of_a_wrong_type_are_told(folder, families):
    """Anything but a list of names is a fault of that line."""
    write_lesson(folder)
    path = folder / "lesson.toml"
    text = path.read_text("utf-8").replace('["my-fan"]', families)
    path.write_text(text, "utf-8")
    [(_, line, message)] = problems_of(folder)
    assert line == line_with(path, "families =")
    assert message.startswith("families")


@pytest.mark.parametrize(
    ("old", "new", "at"),
    [
        ('title = "Choose', "title = Mixed", "title ="),
        ("[rubric]", "[rubric", "[rubric"),
        ("findings = 20", "findings = 20\nfindings = 21", "findings = 21"),
    ],
)
def test_bad_toml_is_told_with_its_line(folder, old, new, at):
    """A file that is no TOML has one fault: where reading stopped."""
    write_lesson(folder, (old, new))
    [(name, line, message)] = problems_of(folder)
    assert name == "lesson.toml"
    assert line == line_with(folder / "lesson.toml", at)
    assert message.startswith("is not valid TOML")


def test_toml_that_ends_too_early_is_told(folder):
    """A fault at the end of the file has no line of its own in every parser."""
    (folder / "lesson.toml").write_text('id = "own"\naims = [', "utf-8")
    [(_, line, message)] = problems_of(folder)
    assert line >= 1
    assert "not valid TOML" in message


@pytest.mark.parametrize("name", ["lesson.toml", "lesson.md", "parts/my-fan.toml"])
def test_file_in_another_encoding_is_told_once(folder, name):
    """A file that cannot be read has that one fault and no made-up ones."""
    (folder / name).write_bytes("title = 'Kühler'".encode("latin-1"))
    [(file_name, line, message)] = problems_of(folder)
    assert file_name == name.rpartition("/")[2]
    assert line is None
    assert message.startswith("is not UTF-8 text")


@pytest.mark.parametrize("name", ["lesson.toml", "lesson.md", "parts/my-fan.toml"])
def test_byte_order_mark_is_no_fault(folder, name):
    """Some editors write one at the start of every file."""
    sound = read_lesson(folder)
    (folder / name).write_bytes(b"\xef\xbb\xbf" + (folder / name).read_bytes())
    assert read_lesson(folder) == sound


def test_missing_text_is_told(folder):
    """A lesson without its text is not half used."""
    (folder / "lesson.md").unlink()
    [(name, line, message)] = problems_of(folder)
    assert (name, line) == ("lesson.md", None)
    assert "no such file" in message


@pytest.mark.parametrize("name", ["no-such-lesson", "", "parts", ".."])
def test_unknown_lesson_is_told_with_the_known_ones(name):
    """The names of ours, or a folder."""
    with pytest.raises(LessonError, match=r"mixed-diagnosis.*a folder that holds"):
        read_lesson(name)


def test_lesson_ids_are_folder_names(folder):
    """What lies beside a lesson is no lesson."""
    (folder.parent / "notes").mkdir()
    assert lesson_ids(folder.parent) == ("own",)


def test_lines_are_found_by_table_and_key():
    """Nested tables, quoted keys and comments; the closest thing around else."""
    lines = lines_of('# a\nid = 1\n[a.b]\n"c d" = 2\nlist = [\n  3,\n]\n')
    assert line_of(("id",), lines) == 2
    assert line_of(("a", "b", "c d"), lines) == 4
    assert line_of(("a", "b", "list", 0), lines) == 5
    assert line_of(("a", "b", "missing"), lines) == 3
    assert line_of(("missing",), lines) == 1


def test_fault_of_an_example_is_told_with_its_line(folder):
    """An example draws on what its lesson draws on."""
    path = folder / "lesson.toml"
    example = EXAMPLES.replace("load_ground_open", "gremlin")
    path.write_text(f"{path.read_text('utf-8')}\n[[examples]]{example}", "utf-8")
    [(_, line, message)] = problems_of(folder)
    assert line == line_with(path, "gremlin")
    assert "'gremlin' is no fault. Write some of" in message
    path.write_text(path.read_text("utf-8").replace("gremlin", "coil_open"), "utf-8")
    [(_, line, message)] = problems_of(folder)
    assert line == line_with(path, 'family = "cooler-fan"')
    assert message.startswith("examples.0.family: 'cooler-fan' is not among those")
