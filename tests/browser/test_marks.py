"""Marks and readings on the diagram of a page: apart from its labels, and whole."""

import json
import re
from pathlib import Path

import pytest

from tests.absent import stop
from tests.browser.conftest import served
from tests.browser.firefox import firefox, program
from tests.pictures.pictures import marked
from workbook import page
from workbook.page.page_texts import page_texts

SOME, MANY = 97, 9  # one of so many, of 3712
FOLDER = Path(page.__file__).parent
SCRIPTS = ("elements.js", "diagram.js", "signs.js")
PAGE = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><style>%s</style></head><body><script>
%s
texts = %s;
const frame = (text) => {
  const { x, y, width, height } = text.getBBox();
  const told = text.textContent;
  return { left: x, top: y, right: x + width, bottom: y + height, told };
};
// Frames of letters are higher than what is drawn of them.
const meet = (a, b) => a.left < b.right - 1 && b.left < a.right - 1
  && a.top < b.bottom - 4 && b.top < a.bottom - 4;
const troubles = ({ circuit, readings }) => {
  const root = document.body.appendChild(h("section", { class: "cb-root" }));
  const diagram = new Diagram({ id: "d" }, circuit);
  root.append(diagram.element);
  const { width, height } = diagram.svg.viewBox.baseVal;
  const texts = (layer) => [...layer.querySelectorAll("text")].map(frame);
  const labels = texts(diagram.svg.querySelector(".cb-drawing"));
  const found = [];
  const look = (marks, others) => marks.forEach((a) => {
    if (a.left < 0 || a.top < 0 || a.right > width || a.bottom > height + 4) {
      found.push(`${a.told} is cut`);
    }
    const met = others.filter((b) => a !== b && meet(a, b));
    found.push(...met.map((b) => `${a.told} meets ${b.told}`));
  });
  const states = [...diagram.spots.keys()].map((at, place) => (
    { at, state: place %% 2 ? "cleared" : "suspect" }));
  diagram.draw({ readings, states: [], shown: [], offers: {} });
  const flags = texts(diagram.layers.readings);
  look(flags, [...labels, ...flags]);
  // Without its unit a reading is another one.
  const cut = flags.filter(({ told }) => /\\d…$/.test(told));
  found.push(...cut.map(({ told }) => `${told} has lost its unit`));
  const places = new Set(readings.map(({ at }) => at));
  const isTold = [...places].every((at) => circuit.spots.some(
    (spot) => spot.id === at && spot.flags.length));
  if (!isTold) found.push("a reading has no place");
  diagram.draw({ readings: [], states, shown: [], offers: {} });
  look(texts(diagram.layers.states), labels);
  for (const test of Object.keys(circuit.signs)) {
    diagram.showTest(test);
    look(texts(diagram.layers.signs), labels);
    if (!diagram.layers.signs.childElementCount) found.push(`${test} is not shown`);
  }
  root.remove();
  return found;
};
const measure = async () => {
  const pictures = await (await fetch("pictures.json")).json();
  const found = pictures.flatMap(troubles);
  const told = document.body.appendChild(document.createElement("pre"));
  told.id = "found";
  told.textContent = JSON.stringify([pictures.length, [...new Set(found)]]);
};
measure();
</script></body></html>
"""


def write(folder, step):
    """Write diagrams with their marks, and the page that measures them."""
    pictures = marked(step)
    styles = "".join(
        (FOLDER / name).read_text("utf-8")
        for name in ("colours.css", "form.css", "diagram.css")
    )
    scripts = "\n".join((FOLDER / name).read_text("utf-8") for name in SCRIPTS)
    text = PAGE % (styles, scripts, json.dumps(page_texts()))
    (folder / "pictures.html").write_text(text, encoding="utf-8")
    (folder / "pictures.json").write_text(json.dumps(pictures), encoding="utf-8")
    return len(pictures)


def in_chromium(page, tmp_path, step):
    """What Chromium finds."""
    count = write(tmp_path, step)
    with served(tmp_path) as address:
        page.goto(f"{address}/pictures.html", timeout=120_000)
        found = page.locator("#found").text_content(timeout=120_000)
    assert json.loads(found) == [count, []]


HOSTILE = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9" onload="hurt()">
<script>hurt()</script><image href="x" onerror="hurt()"/><g style="fill:url(#x)">
<a href="javascript:hurt()"><path d="M0 0"/></a><path d="M1 1" onclick="hurt()"/></g>
<foreignObject><p>HTML</p></foreignObject></svg>"""


def test_drawing_of_a_strange_file_runs_nothing(fresh_page, tmp_path):
    """Of a diagram only lines, shapes and words are taken, each without what acts."""
    write(tmp_path, 3200)
    with served(tmp_path) as address:
        fresh_page.goto(f"{address}/pictures.html")
        fresh_page.locator("#found").wait_for(state="attached")
        kept = fresh_page.evaluate("text => readDrawing(text).outerHTML", HOSTILE)
    assert re.findall(r"<(\w+)", kept) == ["svg", "g", "path"]
    assert re.findall(r" (\w+)=", kept) == ["viewBox", "d"]


@pytest.mark.nightly
def test_marks_stand_apart_from_labels(fresh_page, tmp_path):
    """Readings of every test, what is cleared or suspect, and how each test is done."""
    in_chromium(fresh_page, tmp_path, SOME)


@pytest.mark.release
@pytest.mark.nightly
def test_marks_of_many_diagrams_stand_apart_in_chromium(fresh_page, tmp_path):
    """More than 400 of them, of every family, variant and language."""
    in_chromium(fresh_page, tmp_path, MANY)


@pytest.mark.release
@pytest.mark.nightly
def test_marks_of_many_diagrams_stand_apart_in_firefox(others, tmp_path):
    """The same ones, by another browser."""
    if program() is None:
        stop("no Firefox on this computer")
    with (
        served(tmp_path) as address,
        firefox(tmp_path / "profile", tmp_path, others) as page,
    ):
        count = write(tmp_path, MANY)
        page.open(f"{address}/pictures.html")
        assert json.loads(page.text("#found")) == [count, []]
