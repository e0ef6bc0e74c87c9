"""The wiring diagram says what its labels say, once, and nothing runs into another."""

import base64
import re
import tomllib
from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise, product
from typing import get_args
from xml.etree import ElementTree

import pytest

from generator.model.variant import LoadKind, Variant
from generator.pictures.canvas import LINE_HEIGHT, SHEET_WIDTH, TEXT_SIZE, text_width
from generator.pictures.circuit_text import data_uri
from generator.pictures.labels import (
    DiagramLabels,
    FuseLabel,
    Suppression,
    WireLabel,
    WireLabels,
)
from generator.pictures.schematic import new_diagram
from lessons.loader import LESSONS_FOLDER

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
    variant=Variant(),
    supply="12 V battery",
    upstream="bus bar",
    control_fuse=FuseLabel(name="F12", rating="7.5 A"),
    load_fuse=FuseLabel(name="F3", rating="30 A"),
    relay="K4",
    neighbour="left work lamps",
    module="A2 control module",
    load="Radiator fan",
    load_connector="X12",
    load_kind="fan motor",
    suppression="resistor",
    wires=WIRES,
    enable_inputs=("coolant temperature above 90 °C", "engine running"),
)
UPSTREAM = {
    "bus bar": "bus bar",
    "ignition switch": "ignition switch",
    "main relay": "main relay K1",
}
VARIANTS = [
    Variant(fuses=fuses, drive=drive, coil_supply=pin, terminals=count, upstream=source)
    for fuses, drive, pin, count, source in product(
        ("two", "shared"), ("low side", "high side"), ("86", "85"), (4, 5), UPSTREAM
    )
]
VARIANTS += [
    Variant(ground="shared", drive=drive, fuses=fuses, terminals=5)
    for drive, fuses in product(("low side", "high side"), ("two", "shared"))
]
VARIANTS += [
    Variant(switch="smart", upstream=source, ground=ground)
    for source, ground in product(UPSTREAM, ("own", "shared"))
]
MANY_INPUTS = ("seat occupied", "supply above 12.5 V", "heater switch on") * 2
# Labels that are long, or not there, with some kinds of load.
KINDS = {
    "heater": replace(
        FAN, load="Windscreen heater, left half", enable_inputs=MANY_INPUTS
    ),
    "pulsed heater": replace(
        FAN, load="Mirror heater", supply="24 V battery", suppression="diode"
    ),
    "lamp bank": replace(FAN, load="Work lights, front left", suppression="diode"),
    "pump motor": replace(FAN, load="Hydraulic pump", enable_inputs=MANY_INPUTS[:1]),
    "solenoid valve": replace(
        FAN, load="Tiller release valve", module="Hydraulics module A11"
    ),
    "magnetic clutch": replace(
        FAN, load="Compressor clutch", suppression="diode", enable_inputs=()
    ),
}


def named_in(labels):
    """The short name of a module, as other texts say it."""
    return re.search(r"A\d+", labels.module)[0]


def built(labels, variant):
    """The labels of a circuit built in another way."""
    shared = variant.fuses == "shared"
    return replace(
        labels,
        variant=variant,
        upstream=UPSTREAM[variant.upstream],
        control_fuse=labels.load_fuse if shared else labels.control_fuse,
        # What switches the load goes by the name of its module.
        relay=named_in(labels) if variant.switch == "smart" else labels.relay,
    )


@cache
def every_way(kind):
    """One load in all ways to build its circuit."""
    labels = replace(KINDS.get(kind, FAN), load_kind=kind)
    return tuple(built(labels, variant) for variant in VARIANTS)


def for_each_labels(test, *, with_smart=True):
    """Let a test hold for every load in every variant, one run a load."""

    @pytest.mark.parametrize("kind", get_args(LoadKind))
    def run(kind):
        for labels in every_way(kind):
            if with_smart or not labels.is_smart:
                test(labels)

    run.__name__, run.__doc__ = test.__name__, test.__doc__
    return run


def for_each_relay(test):
    """Let a test hold for every circuit with a relay."""
    return for_each_labels(test, with_smart=False)


@cache
def drawn(labels):
    """The diagram, and its picture as elements."""
    diagram = new_diagram(labels)
    return diagram, ElementTree.fromstring(diagram.svg)


@cache
def new_texts(labels):
    """Every text on the picture as (left, top, right, bottom, words)."""
    boxes = []
    for element in drawn(labels)[1].iter(f"{SVG}text"):
        x, baseline = float(element.get("x")), float(element.get("y"))
        width = text_width(element.text, bold=element.get("font-weight") == "bold")
        left = (
            x
            - width
            * {"start": 0, "middle": 0.5, "end": 1}[element.get("text-anchor", "start")]
        )
        top, bottom = baseline - 0.75 * TEXT_SIZE, baseline + 0.22 * TEXT_SIZE
        boxes.append((left, top, left + width, bottom, element.text))
    return boxes


@cache
def new_strokes(labels):
    """The frame of every straight stroke and circle as (left, top, right, bottom)."""
    segments = []
    root = drawn(labels)[1]
    for path in root.iter(f"{SVG}path"):
        numbers = [float(number) for number in re.findall(r"-?\d+", path.get("d"))]
        points = list(zip(numbers[::2], numbers[1::2], strict=True))
        segments += pairwise(points)
    for rect in root.find(f"{SVG}g").iter(f"{SVG}rect"):
        x, y, w, h = (float(rect.get(key)) for key in ("x", "y", "width", "height"))
        corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)]
        segments += pairwise(corners)
    for circle in root.iter(f"{SVG}circle"):
        x, y, r = (float(circle.get(key)) for key in ("cx", "cy", "r"))
        segments.append(((x - r, y - r), (x + r, y + r)))
    return [
        (min(x, to_x), min(y, to_y), max(x, to_x), max(y, to_y))
        for (x, y), (to_x, to_y) in segments
    ]


def meet(a, b):
    """Whether two frames overlap."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def picture_words(labels):
    return " ".join(text for *_, text in new_texts(labels))


def label_texts(labels):
    """Every text of the input that has to be found again."""
    absent = ["module_ground"] if labels.variant.drive == "high side" else []
    fuses = [labels.control_fuse, labels.load_fuse]
    if labels.is_smart:
        absent = ["control_feed", "control_return", "module_ground"]
        fuses = [labels.load_fuse]
    names = [name for name in WireLabels.__slots__ if name not in absent]
    wires = [getattr(WIRES, name) for name in names]
    return (
        labels.supply,
        "engine running",
        *([labels.upstream] if labels.upstream != "bus bar" else []),
        labels.relay,
        labels.module,
        labels.load,
        *([labels.neighbour] if labels.is_ground_shared else []),
        *labels.enable_inputs,
        *(text for fuse in fuses for text in (fuse.name, fuse.rating)),
        *(f"{wire.colour} {wire.area_mm2:g} mm²" for wire in wires),
    )


@for_each_labels
def test_picture_is_the_same_bytes_for_the_same_labels(labels):
    """Drawing twice gives one text."""
    assert new_diagram(labels) == new_diagram(replace(labels))


@for_each_labels
def test_picture_shows_every_label(labels):
    """What is asked for is written on the picture, wrapped or not."""
    words = picture_words(labels)
    assert [text for text in label_texts(labels) if text not in words] == []


@for_each_labels
def test_table_tells_every_label(labels):
    """The table tells names, ratings, wires and inputs."""
    told = "\n".join(" | ".join(row) for row in drawn(labels)[0].rows)
    assert [text for text in label_texts(labels) if text not in told] == []


@for_each_labels
def test_table_follows_both_paths_from_supply_to_ground(labels):
    """From every part there is a next one, down to ground, and none is told twice."""
    rows = drawn(labels)[0].rows
    assert len({row[0] for row in rows}) == len(rows)
    assert rows[0][:2] == (labels.supply, "ground")
    for number, (_, start, *_) in enumerate(rows[1:], start=1):
        assert any(start in part or start in end for part, _, end, _ in rows[:number])
    for number, (part, _, end, _) in enumerate(rows):
        is_followed = any(
            later.removeprefix("fuse ") in end or start == end
            for later, start, *_ in rows[number + 1 :]
        )
        assert is_followed or part == "K4 break contact" or end == "ground"
    control = "control return" if labels.is_high_side else "module ground"
    assert [row[0] for row in rows if row[2] == "ground"] == [
        *([] if labels.is_smart else [control]),
        *(
            ("shared ground point", labels.neighbour)
            if labels.is_ground_shared
            else ("load ground",)
        ),
    ]


@for_each_relay
def test_alternative_text_tells_both_circuits_in_the_order_of_current(labels):
    """Two sentences: upstream, fuse, then driver and coil or coil and driver."""
    control, load = drawn(labels)[0].alt.split(" Load circuit: ")
    upstream = "" if labels.upstream == "bus bar" else f"{labels.upstream}, "
    fuse = "shared fuse" if labels.variant.fuses == "shared" else "fuse"
    for circuit, name in ((control, labels.control_fuse.name), (load, "F3")):
        assert (
            f"{labels.supply} with engine running, {upstream}{fuse} {name}" in circuit
        )
    side = labels.variant.drive.replace(" ", "-")
    is_before = control.index(side) < control.index("coil of relay K4")
    assert is_before == (side == "high-side")
    assert f"{labels.load} ({labels.load_kind}), ground." in load
    assert ("87a" in load) == (labels.variant.terminals == 5)


@for_each_relay
def test_terminal_numbers_stand_once_each(labels):
    """In the relay, the control circuit on the left and the supply side above."""
    at = {text: (left, top) for left, top, *_, text in new_texts(labels)}
    bold = [
        element.text
        for element in drawn(labels)[1].iter(f"{SVG}text")
        if element.get("font-weight") == "bold"
    ]
    pins = ["86", "85", "30", "87", "87a"]
    five = int(labels.variant.terminals == 5)
    assert [bold.count(pin) for pin in pins] == [1, 1, 1, 1, five]
    upper = labels.variant.coil_supply
    lower = {"86": "85", "85": "86"}[upper]
    left, top, bottom = at["86"][0], at[upper][1], at[lower][1]
    assert at["85"][0] == left
    assert top < bottom
    relay = [(x, y) for x, y, *_, text in new_texts(labels) if text in ("30", "87")]
    assert (relay[-2][1], relay[-1][1]) == (top, bottom)
    assert left < relay[-2][0] == relay[-1][0]


@for_each_relay
def test_driver_is_above_the_relay_only_on_the_high_side(labels):
    """The picture follows the current: supply at the top, ground at the bottom."""
    at = {text: top for _, top, *_, text in new_texts(labels)}
    side = labels.variant.drive.replace(" ", "-")
    assert (at[side] < at[labels.relay]) == (side == "high-side")


def smart_ways():
    """Every load behind a smart switch."""
    return [
        one for kind in get_args(LoadKind) for one in every_way(kind) if one.is_smart
    ]


def test_smart_switch_has_one_circuit_and_terminals_of_its_own():
    """Fuse, switch and load stand in one path; nothing of a relay is left."""
    for labels in smart_ways():
        diagram, _ = drawn(labels)
        words = picture_words(labels)
        told = " ".join(" ".join(row) for row in diagram.rows)
        path = f"smart switch in {labels.module} from terminal B1 to Q1"
        assert path in diagram.alt
        assert "There is no relay." in diagram.alt
        for text in (words, diagram.alt, told):
            assert not re.search(r"\b8[56]\b|coil|control circuit|F12", text), text
        tops = {text: top for _, top, *_, text in new_texts(labels)}
        assert tops["F3"] < tops["B1"] < tops["Q1"] < tops["X12"]


def test_spots_of_a_smart_switch_are_those_of_its_circuit():
    """What can be pointed at is there, and nothing that only a relay has."""
    of_relay = {"control_fuse", "control_feed", "coil", "socket", "85", "86", "87a"}
    for labels in smart_ways():
        spots = {spot.id: spot.label for spot in drawn(labels)[0].spots}
        assert spots["30"] == f"{named_in(labels)} terminal B1"
        assert spots["87"] == f"{named_in(labels)} terminal Q1"
        assert spots["contacts"].endswith("smart switch")
        assert not of_relay & spots.keys()


@for_each_labels
def test_texts_do_not_overlap(labels):
    """No text's frame meets another's."""
    texts = new_texts(labels)
    assert [(a[4], b[4]) for a, b in combinations(texts, 2) if meet(a, b)] == []


@for_each_labels
def test_texts_do_not_touch_lines(labels):
    """No stroke's and no circle's frame meets a text's; a motor has its M inside."""
    strokes = new_strokes(labels)
    touched = [
        text[4]
        for text in new_texts(labels)
        if text[4] != "M" and any(meet(stroke, text) for stroke in strokes)
    ]
    assert touched == []


@for_each_labels
def test_boxes_lie_inside_or_outside_one_another(labels):
    """No part's box cuts another's."""
    boxes = []
    for rect in drawn(labels)[1].find(f"{SVG}g").iter(f"{SVG}rect"):
        x, y, w, h = (int(rect.get(key)) for key in ("x", "y", "width", "height"))
        boxes.append((x, y, x + w, y + h))
    for a, b in combinations(boxes, 2):
        outer, inner = sorted((a, b), key=lambda box: box[0] - box[2])
        inside = inner == (
            *(max(pair) for pair in zip(inner[:2], outer[:2], strict=True)),
            *(min(pair) for pair in zip(inner[2:], outer[2:], strict=True)),
        )
        assert inside or not meet(a, b)


@for_each_labels
def test_texts_stay_on_the_sheet(labels):
    """Nothing is cut off at the edge."""
    height = int(drawn(labels)[1].get("height"))
    for left, top, right, bottom, words in new_texts(labels):
        assert left >= 0, words
        assert top >= 0, words
        assert right <= SHEET_WIDTH, words
        assert bottom <= height, words


@for_each_labels
def test_picture_is_alone_and_harmless(labels):
    """Only drawing elements, nothing that runs or is fetched, no colour but black."""
    root = drawn(labels)[1]
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
def test_table_tells_the_kind_of_load(kind):
    """What a symbol shows by its shape is told in words."""
    notes = [row[3] for row in new_diagram(replace(FAN, load_kind=kind)).rows]
    assert f"load: {kind}" in notes


@pytest.mark.parametrize("coil_supply", ["86", "85"])
def test_table_tells_suppression_and_the_cathode_of_a_diode(coil_supply):
    """A diode's cathode is at the terminal on the supply side; a resistor has none."""
    labels = built(FAN, Variant(coil_supply=coil_supply))
    for suppression, told in (
        ("resistor", "resistor in parallel"),
        ("diode", f"diode in parallel (cathode at terminal {coil_supply})"),
    ):
        diagram = new_diagram(replace(labels, suppression=suppression))
        assert any(row[3].endswith(told) for row in diagram.rows)
        assert told in diagram.alt


def test_cathode_is_above_the_anode():
    """The bar of the diode is on the supply side, and its triangle points to it."""
    svg = new_diagram(replace(FAN, suppression="diode")).svg
    base, tip = re.search(r"M125 (\d+) L151 \1 L138 (\d+) Z", svg).groups()
    assert int(tip) < int(base)
    assert f'"M125 {tip} L151 {tip}"' in svg


def test_engine_off_is_shown_and_told():
    """On the battery alone the supply is lower."""
    diagram = new_diagram(built(FAN, Variant(supply="battery only")))
    assert "12 V battery with engine off" in diagram.alt
    assert ">engine off<" in diagram.svg
    assert "engine off" in diagram.rows[0][3]


def test_ignition_switch_and_main_relay_have_their_terminals():
    """30 to 15 in a switch, 30 to 87 in a relay."""
    for upstream, lower in (("ignition switch", "15"), ("main relay", "87")):
        diagram = new_diagram(built(FAN, Variant(upstream=upstream)))
        assert re.search(rf'text-anchor="end" [^>]+>{lower}<', diagram.svg)
        assert diagram.rows[1][0] == UPSTREAM[upstream]
        assert diagram.rows[1][3].startswith(f"terminal 30 to {lower};")


def test_every_variant_load_and_suppression_has_a_picture_of_its_own():
    """No two different circuits look alike."""
    pictures = set()
    for kind, suppression in product(get_args(LoadKind), get_args(Suppression)):
        labels = replace(FAN, load_kind=kind, suppression=suppression)
        for variant in VARIANTS:
            svg = new_diagram(built(labels, variant)).svg
            pictures.add(svg.partition("</desc>")[2])
    # A smart switch shows no suppression: there is no coil.
    smart = sum(variant.switch == "smart" for variant in VARIANTS)
    assert len(pictures) == (2 * len(VARIANTS) - smart) * 7


def test_label_too_long_for_its_place_is_refused():
    """A word that would run off the sheet is told by name."""
    labels = replace(FAN, load="Windscreenheaterleftside")
    with pytest.raises(ValueError, match=r"'Windscreenheaterleftside' .* too long"):
        new_diagram(labels)


@pytest.mark.parametrize(
    "path",
    sorted((LESSONS_FOLDER / "parts").glob("*.toml")),
    ids=lambda path: path.stem,
)
def test_names_of_every_family_have_their_place(path):
    """No load, module or enable input that we ship is too long for the sheet."""
    family = tomllib.loads(path.read_text(encoding="utf-8"))
    for module in family["names"]["module"]:
        labels = replace(
            FAN,
            load=family["load"],
            load_kind=family["kind"],
            module=f"{module} control module",
            enable_inputs=tuple(family["enable"]),
        )
        assert family["load"] in picture_words(labels)
        assert new_diagram(built(labels, Variant(switch="smart")))


def test_data_uri_decodes_to_the_picture():
    """The address holds the whole picture."""
    svg = new_diagram(FAN).svg
    head, _, body = data_uri(svg).partition(",")
    assert head == "data:image/svg+xml;base64"
    assert base64.b64decode(body).decode() == svg
