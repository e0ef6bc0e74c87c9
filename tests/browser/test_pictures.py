"""Labels of pictures as browsers draw them: apart, and inside their picture."""

import json
from functools import cache

import pytest

from generator.pictures.font import FONT_FAMILY, FONT_WEIGHTS, font_data
from tests.absent import stop
from tests.browser.conftest import served
from tests.browser.firefox import firefox, program
from tests.pictures.pictures import diagrams, screens
from workbook.texts import LANGUAGES

MANY, SOME = 9, 101  # one of so many, of 3712
# One picture at a time: a page with thousands of them takes a browser minutes. Half a
# pixel is what browsers may round; a font of other widths differs by more.
PAGE = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><style>%s</style></head><body><script>
const pen = document.createElement("canvas").getContext("2d");
const frame = (text) => {
  const { x, y, width, height } = text.getBBox();
  const told = text.textContent;
  return { left: x, top: y, right: x + width, bottom: y + height, text, told };
};
const meet = (a, b) => a.left < b.right && b.left < a.right
  && a.top < b.bottom && b.top < a.bottom;
const isStretched = ({ text, told }) => {
  const { fontSize, fontWeight, fontFamily } = getComputedStyle(text);
  pen.font = `${fontWeight} ${fontSize} ${fontFamily}`;
  const natural = pen.measureText(told).width;
  return Math.abs(natural - text.textLength.baseVal.value) > 0.5;
};
const troubles = (svg, hasFont) => {
  const { width, height } = svg.viewBox.baseVal;
  const frames = [...svg.querySelectorAll("text")].map(frame);
  return frames.flatMap((a, place) => [
    ...(a.left < 0 || a.top < 0 || a.right > width || a.bottom > height
      ? [`${a.told} is cut`] : []),
    ...(hasFont && isStretched(a) ? [`${a.told} is stretched`] : []),
    ...frames.slice(0, place).filter((b) => meet(a, b))
      .map((b) => `${b.told} meets ${a.told}`),
  ]);
};
const measure = async () => {
  const faces = [...document.fonts];
  await Promise.all(faces.map((face) => face.load()));
  const pictures = await (await fetch("pictures.json")).json();
  const place = document.body.appendChild(document.createElement("div"));
  const found = pictures.flatMap((picture) => {
    place.innerHTML = picture;
    return troubles(place.firstElementChild, faces.length > 0);
  });
  const told = document.body.appendChild(document.createElement("pre"));
  told.id = "found";
  told.textContent = JSON.stringify([pictures.length, found]);
};
measure();
</script></body></html>
"""


@cache
def pictures(step):
    """One of so many diagrams, and all screens."""
    return diagrams(step) + [svg for each in LANGUAGES for svg in screens(each)]


def write(folder, step, *, has_font):
    """Write pictures and the page that measures them; gives their number."""
    svgs = pictures(step)
    faces = (
        f'@font-face {{ font-family: "{FONT_FAMILY}"; font-weight: {weight}; '
        f'src: url({font_data(weight)}) format("woff2"); }}'
        for weight in FONT_WEIGHTS
    )
    page = PAGE % ("".join(faces) if has_font else "")
    (folder / "pictures.html").write_text(page, encoding="utf-8")
    (folder / "pictures.json").write_text(json.dumps(svgs), encoding="utf-8")
    return len(svgs)


def in_chromium(page, tmp_path, step, *, has_font):
    """What Chromium finds."""
    count = write(tmp_path, step, has_font=has_font)
    with served(tmp_path) as address:
        page.goto(f"{address}/pictures.html", timeout=120_000)
        found = page.locator("#found").text_content(timeout=120_000)
    assert json.loads(found) == [count, []]


def test_labels_stand_apart_in_whatever_font_chromium_has(fresh_page, tmp_path):
    """As in a workbook, whose pictures can load no font."""
    in_chromium(fresh_page, tmp_path, SOME, has_font=False)


def test_our_font_is_as_wide_as_the_drawing_takes_it(fresh_page, tmp_path):
    """As on a handout: nothing is stretched, and nothing meets."""
    in_chromium(fresh_page, tmp_path, SOME, has_font=True)


@pytest.mark.nightly
def test_labels_of_many_diagrams_stand_apart_in_chromium(fresh_page, tmp_path):
    """More than 400 of every family, variant and language, in whatever font it has."""
    in_chromium(fresh_page, tmp_path, MANY, has_font=False)


@pytest.mark.nightly
def test_labels_of_many_diagrams_stand_apart_in_firefox(others, tmp_path):
    """The same ones, in whatever font it has, and in ours, unstretched."""
    if program() is None:
        stop("no Firefox on this computer")
    with (
        served(tmp_path) as address,
        firefox(tmp_path / "profile", tmp_path, others) as page,
    ):
        for has_font in (False, True):
            count = write(tmp_path, MANY, has_font=has_font)
            page.open(f"{address}/pictures.html")
            assert json.loads(page.text("#found")) == [count, []]
