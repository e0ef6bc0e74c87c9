"""A trace drawn as on a scope, and told in words and numbers."""

import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import numpy as np
import pytest

from generator.model.inrush import Motor, Source, heater_inrush, motor_start
from generator.model.trace import Trace
from generator.model.transients import CoilCircuit, Suppression, Winding, coil_turn_off
from generator.pictures.canvas import SHEET_WIDTH, text_width
from generator.pictures.scope import TABLE_HEAD, View, scope_picture
from workbook.texts import speaking

SVG = "{http://www.w3.org/2000/svg}"
RELAY = CoilCircuit(
    supply_v=14.0,
    winding=Winding(resistance_ohm=90.0),
    suppression=Suppression(resistor_ohm=680.0),
    return_ohm=0.6,
)
AT_85 = View(title="Relay K4 switched off", quantity="voltage", place="terminal 85")
OF_COIL = View(title="Relay K4 switched off", quantity="current", place="the coil")
FAN = Motor(
    armature_ohm=0.17,
    inductance_h=2e-4,
    constant_vs=0.0459,
    inertia_kgm2=2e-3,
    fan_nms2=7.93e-6,
    friction_nm=0.055,
)
SUPPLY = Source(emf_v=14.0, resistance_ohm=0.05)
TRACES = {
    "resistor": (coil_turn_off(RELAY), AT_85),
    "coil current": (coil_turn_off(RELAY), OF_COIL),
    "motor": (motor_start(SUPPLY, FAN), OF_COIL),
    "heater": (heater_inrush(SUPPLY, 1.0, 0.2), OF_COIL),
}
each_trace = pytest.mark.parametrize(("trace", "view"), TRACES.values(), ids=TRACES)


def words_of(picture):
    """Texts of a picture in the order drawn."""
    return [e.text for e in ElementTree.fromstring(picture.svg).iter(f"{SVG}text")]


@each_trace
def test_same_trace_gives_the_same_picture(trace, view):
    """To the byte, and small enough for a notebook."""
    picture = scope_picture(trace, view)
    assert picture == scope_picture(trace, view)
    assert len(picture.svg) < 8_000


@each_trace
def test_picture_has_title_description_and_units(trace, view):
    """A screen reader finds its words; the axes have units."""
    picture = scope_picture(trace, view)
    root = ElementTree.fromstring(picture.svg)
    assert root.get("role") == "img"
    assert root.findtext(f"{SVG}title") == view.title
    assert root.findtext(f"{SVG}desc") == picture.alt
    words = words_of(picture)
    assert any(w.startswith("Time after switching (") for w in words)
    assert any(w.startswith(view.label) and w.endswith(f"{view.unit})") for w in words)


@each_trace
def test_picture_is_grey_and_stays_on_its_sheet(trace, view):
    """No colour tells anything, and nothing is cut off."""
    root = ElementTree.fromstring(scope_picture(trace, view).svg)
    paints = {e.get(name) for e in root.iter() for name in ("fill", "stroke")}
    assert paints <= {None, "none", "white", "black", "#a8a8a8"}
    for text in root.iter(f"{SVG}text"):
        anchor = {"start": 0.0, "middle": 0.5, "end": 1.0}[
            text.get("text-anchor", "start")
        ]
        left = int(text.get("x")) - anchor * text_width(text.text)
        assert left >= 0
        assert left + text_width(text.text) <= SHEET_WIDTH


def test_peak_is_written_on_the_picture_and_in_words():
    """One number in the picture, the description and the table."""
    trace, _ = TRACES["resistor"]
    picture = scope_picture(trace, AT_85)
    peak = f"{trace.peak_v:.3g} V"
    assert f"peak {peak}" in words_of(picture)
    assert f"peak {peak} after 2.04 µs" in picture.alt
    assert [row[1] for row in picture.rows if row[2] == "peak"] == [peak]


def test_height_that_is_asked_for_is_not_written():
    """The picture has no number at the peak; the words count divisions of the grid."""
    trace, _ = TRACES["resistor"]
    picture = scope_picture(trace, replace(AT_85, is_asked=True))
    assert not any("peak" in word for word in words_of(picture))
    counted = re.search(r"peak ([\d.]+) divisions of (\d+) V above zero", picture.alt)
    assert float(counted[1]) * float(counted[2]) == pytest.approx(
        trace.peak_v, abs=0.05 * float(counted[2])
    )


def test_rise_that_has_no_peak_is_not_called_one():
    """A heater's current stays as high as it gets."""
    picture = scope_picture(*TRACES["heater"])
    assert "highest 13.3 A" in words_of(picture)
    assert "peak" not in picture.alt
    assert {row[2] for row in picture.rows} == {"", "before switching"}


def test_table_tells_what_the_picture_shows():
    """Before switching, even steps to the end, and the way back from the peak."""
    picture = scope_picture(*TRACES["motor"])
    assert all(len(row) == len(TABLE_HEAD) for row in picture.rows)
    assert picture.rows[0] == ("0 s", "0 A", "before switching")
    notes = [row[2] for row in picture.rows if row[2]]
    assert notes == ["before switching", "peak", "halfway back from the peak"]
    assert len(picture.rows) == 11
    assert picture.rows[-1][1] in picture.alt


@pytest.mark.parametrize("sign", [1, -1])
def test_way_back_from_a_peak_takes_time_upwards_and_downwards(sign):
    """One exponential is halfway back after ln 2 of its time constants."""
    time = np.linspace(0.0, 0.01, 2001)
    decay = sign * 90.0 * np.exp(-time / 0.001)
    trace = Trace(
        time_s=np.concatenate([[0.0], time]),
        current_a=np.zeros(2002),
        voltage_v=np.concatenate([[0.0], decay]),
        final_a=0.0,
    )
    rows = scope_picture(trace, AT_85).rows
    back = next(row for row in rows if row[2] == "halfway back from the peak")
    assert back[0].endswith("µs")
    assert float(back[0].split()[0]) == pytest.approx(1000 * np.log(2), abs=6)
    assert float(back[1].split()[0]) == pytest.approx(sign * 45.0, abs=0.5)


def test_window_can_be_given():
    """The picture ends there, whatever is settled."""
    trace, view = TRACES["resistor"]
    picture = scope_picture(
        trace, View(title=view.title, quantity="voltage", place="85", window_s=2e-4)
    )
    assert picture.rows[-1][0] == "200 µs"
    assert "Time after switching (µs)" in words_of(picture)


def test_trace_at_rest_has_a_scale_too():
    """A coil that is never switched on reads nothing all along."""
    still = Trace(
        time_s=np.array([0.0, 0.01]),
        current_a=np.zeros(2),
        voltage_v=np.zeros(2),
        final_a=0.0,
    )
    picture = scope_picture(still, AT_85)
    assert "highest 0 V" in words_of(picture)
    assert picture.rows[-1][:2] == ("10 ms", "0 V")


def test_screen_speaks_german_with_a_decimal_comma():
    """Its words and its alt text do, and the curve is drawn as it was."""
    trace, view = TRACES["resistor"]
    with speaking("de"):
        picture = scope_picture(trace, view)
        told = words_of(picture)
    assert "Zeit nach dem Schalten (ms)" in told
    assert any(re.fullmatch("Spitze [0-9,]+ V", word) for word in told)
    assert "0,5" in told
    assert re.search("Spitze [0-9,]+ V nach [0-9,]+ µs", picture.alt)
    assert not [word for word in [*told, picture.alt] if re.search(r"\d\.\d", word)]
    paths = re.compile(' d="([^"]*)"')
    english = scope_picture(trace, view)
    assert paths.findall(picture.svg) == paths.findall(english.svg)


def test_dense_oscillation_stays_small():
    """Twenty thousand points become what the sheet can show."""
    ideal = CoilCircuit(
        supply_v=14.0, winding=Winding(resistance_ohm=90.0, loss_ohm=1e9)
    )
    trace = coil_turn_off(ideal)
    assert len(trace.time_s) > 10_000
    assert len(scope_picture(trace, AT_85).svg) < 20_000
