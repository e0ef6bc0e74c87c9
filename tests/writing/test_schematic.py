"""The wiring diagram says what its labels say, once, and nothing runs into another."""

import base64
import re
from dataclasses import replace
from itertools import combinations, pairwise
from typing import get_args
from xml.etree import ElementTree

import pytest

from generator.writing.schematic import (
    DiagramLabels,
    FuseLabel,
    LoadKind,
    Suppression,
    WireLabel,
    WireLabels,
    data_uri,
    new_diagram,
)
from generator.writing.schematic_canvas import (
    LINE_HEIGHT,
    SHEET_WIDTH,
    TEXT_SIZE,
    text_width,
)

SVG = "{http://www.w3.org/2000/svg}"

WIRES = WireLabels(
    control_feed=WireLabel(colour="RD/BK", area_mm2=0.75),
    control_return=WireLabel(colour="BU/YE", area_mm2=0.5),
    module_ground=WireLabel(colour="BN", area_mm2=1.5),
    load_feed=WireLabel(colour="RD", area_mm2=4.0),
    load_wire=WireLabel(colour="BK/WH", area_mm2=2.5),
    load_ground=WireLabel(colour="BN/VT", area_mm2=6.0),
)
FAN = DiagramLabels(
    supply="12 V battery",
    control_fuse=FuseLabel(name="F12", rating="7.5 A"),
    load_fuse=FuseLabel(name="F3", rating="30 A"),
    relay="K4",
    module="A2 control module",
    load="Radiator fan",
    load_kind="fan motor",
    suppression="resistor",
    wires=WIRES,
    enable_inputs=("coolant temperature above 90 °C", "engine running"),
)
HEATER = replace(
    FAN,
    load="Windscreen heater, left half",
    load_kind="heater",
    suppression="diode",
    enable_inputs=("seat occupied", "supply above 12.5 V", "heater switch on") * 2,
)
VALVE = replace(
    FAN,
    load="Tiller release valve",
    load_kind="solenoid valve",
    suppression="none",
    module="Hydraulics module A11",
    enable_inputs=(),
)
each_labels = pytest.mark.parametrize(
    "labels", [FAN, HEATER, VALVE], ids=["fan", "heater", "valve"]
)


def new_texts(labels):
    """Every text on the picture as (left, top, right, bottom, words)."""
    boxes = []
    for element in ElementTree.fromstring(new_diagram(labels).svg).iter(f"{SVG}text"):
        x, baseline = float(element.get("x")), float(element.get("y"))
        width = text_width(element.text, bold=element.get("font-weight") == "bold")
        left = (
            x
            - width * {"start": 0, "middle": 0.5, "end": 1}[element.get("text-anchor")]
        )
        top, bottom = baseline - 0.75 * TEXT_SIZE, baseline + 0.22 * TEXT_SIZE
        boxes.append((left, top, left + width, bottom, element.text))
    return boxes


def new_segments(labels):
    """Every straight stroke on the picture as two corners; all are level or upright
    except the few that a symbol has, whose frame counts."""
    segments = []
    root = ElementTree.fromstring(new_diagram(labels).svg)
    for path in root.iter(f"{SVG}path"):
        numbers = [float(number) for number in re.findall(r"-?\d+", path.get("d"))]
        points = list(zip(numbers[::2], numbers[1::2], strict=True))
        segments += pairwise(points)
    for rect in root.find(f"{SVG}g").iter(f"{SVG}rect"):
        x, y, w, h = (float(rect.get(key)) for key in ("x", "y", "width", "height"))
        corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)]
        segments += pairwise(corners)
    return segments


def picture_words(labels):
    return " ".join(text for *_, text in new_texts(labels))


def label_texts(labels):
    """Every text of the input that has to be found again."""
    wires = [getattr(WIRES, name) for name in WireLabels.__slots__]
    fuses = (labels.control_fuse, labels.load_fuse)
    return (
        labels.supply,
        labels.relay,
        labels.module,
        labels.load,
        *labels.enable_inputs,
        *(text for fuse in fuses for text in (fuse.name, fuse.rating)),
        *(f"{wire.colour} {wire.area_mm2:g} mm²" for wire in wires),
    )


@each_labels
def test_picture_is_the_same_bytes_for_the_same_labels(labels):
    """Drawing twice gives one text."""
    assert new_diagram(labels) == new_diagram(replace(labels))


@each_labels
def test_picture_shows_every_label(labels):
    """What is asked for is written on the picture, wrapped or not."""
    words = picture_words(labels)
    assert [text for text in label_texts(labels) if text not in words] == []


@each_labels
def test_table_tells_every_label(labels):
    """The table tells names, ratings, wires and inputs."""
    told = "\n".join(" | ".join(row) for row in new_diagram(labels).rows)
    assert [text for text in label_texts(labels) if text not in told] == []


@each_labels
def test_table_follows_both_paths_from_supply_to_ground(labels):
    """Each row starts where a row before it ended, down to ground."""
    rows = new_diagram(labels).rows
    for circuit in (rows[1:7], rows[7:]):
        assert circuit[0][1] == labels.supply
        assert circuit[-1][2] == "ground"
        for before, after in pairwise(circuit):
            assert before[2] == after[0] or after[1] in (before[0], before[2])


@each_labels
def test_alternative_text_names_both_circuits(labels):
    """The image's alternative text tells the two circuits in two sentences."""
    alt = new_diagram(labels).alt
    assert alt.startswith("Control circuit: ")
    assert "Load circuit: " in alt
    assert labels.load in alt


@each_labels
def test_terminal_numbers_stand_once_each(labels):
    """86, 85, 30 and 87 are written once, in the relay, control on the left."""
    at = {text: (left, top) for left, top, *_, text in new_texts(labels)}
    words = [text for *_, text in new_texts(labels)]
    assert [words.count(pin) for pin in ("86", "85", "30", "87")] == [1, 1, 1, 1]
    assert at["86"][0] == at["85"][0] < at["30"][0] == at["87"][0]
    assert at["86"][1] == at["30"][1] < at["85"][1] == at["87"][1]


@each_labels
def test_texts_do_not_overlap(labels):
    """No text's box meets another's."""
    meeting = [
        (a[4], b[4])
        for a, b in combinations(new_texts(labels), 2)
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]
    assert meeting == []


@each_labels
def test_texts_do_not_touch_lines(labels):
    """No stroke's frame meets a text's box."""
    crossing = [
        (words, segment)
        for left, top, right, bottom, words in new_texts(labels)
        for segment in new_segments(labels)
        if min(segment[0][0], segment[1][0]) < right
        and max(segment[0][0], segment[1][0]) > left
        and min(segment[0][1], segment[1][1]) < bottom
        and max(segment[0][1], segment[1][1]) > top
    ]
    assert [words for words, _ in crossing if words != "M"] == []


@each_labels
def test_texts_stay_on_the_sheet(labels):
    """Nothing is cut off at the edge."""
    height = int(ElementTree.fromstring(new_diagram(labels).svg).get("height"))
    for left, top, right, bottom, words in new_texts(labels):
        assert left >= 0, words
        assert top >= 0, words
        assert right <= SHEET_WIDTH, words
        assert bottom <= height, words


@each_labels
def test_picture_is_alone_and_harmless(labels):
    """Only drawing elements, nothing that runs or is fetched, no colour but black."""
    root = ElementTree.fromstring(new_diagram(labels).svg)
    tags = {element.tag.removeprefix(SVG) for element in root.iter()}
    assert tags <= {"svg", "title", "desc", "g", "path", "rect", "circle", "text"}
    attributes = {name for element in root.iter() for name in element.attrib}
    assert not {name for name in attributes if name.startswith("on") or "href" in name}
    paints = {element.get("fill") for element in root.iter()}
    assert paints <= {None, "none", "white", "black"}


def test_picture_has_title_and_description():
    """A screen reader that opens the picture finds its role, title and description."""
    root = ElementTree.fromstring(new_diagram(FAN).svg)
    assert root.get("role") == "img"
    assert root.findtext(f"{SVG}title") == (
        "Wiring diagram: Radiator fan switched by relay K4"
    )
    assert root.findtext(f"{SVG}desc") == new_diagram(FAN).alt


def test_text_is_body_size_at_800_px():
    """At 800 px the letters are at least as high as 16 px body text."""
    assert TEXT_SIZE * 800 / SHEET_WIDTH >= 16
    assert LINE_HEIGHT > TEXT_SIZE


def test_labels_with_markup_stay_text():
    """A label cannot become an element of the picture."""
    labels = replace(FAN, load="<b>Fan</b> &amp;")
    assert "<b>Fan</b> &amp;" in picture_words(labels)


@pytest.mark.parametrize("kind", get_args(LoadKind))
@pytest.mark.parametrize("suppression", get_args(Suppression))
def test_table_tells_load_kind_and_suppression(kind, suppression):
    """What a symbol shows by its shape is told in words."""
    labels = replace(FAN, load_kind=kind, suppression=suppression)
    notes = [row[3] for row in new_diagram(labels).rows]
    assert f"load: {kind}" in notes
    told = "no suppression" if suppression == "none" else f"suppression: {suppression}"
    assert any(note.startswith(told) for note in notes)


def test_load_kinds_and_suppressions_differ_on_the_picture():
    """Every kind has a picture of its own."""
    pictures = {
        new_diagram(replace(FAN, load_kind=kind, suppression=suppression)).svg
        for kind in get_args(LoadKind)
        for suppression in get_args(Suppression)
    }
    assert len(pictures) == 9


def test_label_too_long_for_its_place_is_refused():
    """A word that would run off the sheet is told by name."""
    labels = replace(FAN, load="Windscreenheaterleftside")
    with pytest.raises(ValueError, match=r"'Windscreenheaterleftside' .* too long"):
        new_diagram(labels)


def test_data_uri_decodes_to_the_picture():
    """The address holds the whole picture."""
    svg = new_diagram(FAN).svg
    head, _, body = data_uri(svg).partition(",")
    assert head == "data:image/svg+xml;base64"
    assert base64.b64decode(body).decode() == svg
