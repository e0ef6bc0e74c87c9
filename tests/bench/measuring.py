"""How fast a set-up is told and measured in a browser: python -m tests.bench.measuring.

In the site, where Python runs in the browser. Each time is measured in the page, and
told beside that of the first number, which is recorded by the same way.
"""

from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from playwright.sync_api import sync_playwright

from generator.drawing.request import Request, Student
from generator.sets.class_set import open_key
from generator.sets.set_writing import write_class_set
from generator.site.build import write_site
from tests.bench.site import READY_MS, tell
from tests.browser import key_work
from tests.browser import page as student
from tests.browser.conftest import FLAGS, chromium, served
from tests.browser.site import open_by_link
from tests.drawn import SECRET
from tests.keys import content_of

READINGS = (("30", "87"), ("86", "0"), ("87", "load+"), ("load-", "0"))

# Does something, and waits until something is there that was not [ms].
_SPENT = """async ([doing, there]) => {
  const root = document.querySelector(".cb-root:not(.clampbook-away *)");
  const begin = performance.now();
  const gone = root.querySelector(there);
  eval(doing)(root);
  while (!root.querySelector(there) || root.querySelector(there) === gone) {
    if (performance.now() - begin > 60000) throw new Error(`${there} is not there`);
    await new Promise((yes) => setTimeout(yes, 2));
  }
  return performance.now() - begin;
}"""
_RECORD = """(root) => {
  root.querySelector(".cb-echo.cb-right").closest("form").requestSubmit();
}"""
_PUT = """(root) => {{
  root.querySelector("[data-control='plus-volts']").value = "{plus}";
  const minus = root.querySelector("[data-control='minus-volts']");
  minus.value = "{minus}";
  minus.dispatchEvent(new Event("change", {{ bubbles: true }}));
}}"""
_MEASURE = """(root) => {
  const form = root.querySelector(".cb-bench").closest("form");
  form.querySelector(".cb-set-up + div input").checked = true;
  form.requestSubmit();
}"""


def spent(page, doing, there):
    """How long something takes until what comes of it is there [ms]."""
    return page.evaluate(_SPENT, [doing, there])


def find(form):
    """Say something to a reading, so that the next can be taken."""
    finding = form.locator("form:has(input[data-field=outcome])")
    for name in ("outcome", "statement"):
        finding.locator(f"input[data-field={name}]").first.check()
    finding.locator("[data-control=submit]").click()
    finding.wait_for(state="detached")


def measured(page, form, record):
    """Predict, set up and measure; gives the times by what was done [ms]."""
    times = {"number": [], "set-up": [], "reading": []}
    for asked in record["predictions"]:
        text = key_work.typed(asked["value"], asked["unit"])
        form.get_by_role("group", name=asked["label"], exact=True).get_by_role(
            "textbox"
        ).fill(text)
        form.locator(".cb-echo.cb-right").wait_for(timeout=READY_MS)
        done = f"[data-part='predict/prediction:{asked['id']}'].cb-answer"
        times["number"].append(spent(page, _RECORD, done))
    for plus, minus in READINGS:
        put = _PUT.format(plus=plus, minus=minus)
        times["set-up"].append(spent(page, put, ".cb-set-up strong"))
        times["reading"].append(spent(page, _MEASURE, ".cb-display"))
        find(form)
    return times


def main():
    """Print a line for each figure."""
    with TemporaryDirectory() as place, sync_playwright() as playwright:
        folder = Path(place)
        request = Request(
            lessons=("mixed-diagnosis",),
            students=(Student(id="s01", name="S"),),
            exercises=4,
            mode="practice",
        )
        made = write_class_set(folder / "SET", request, secret=SECRET)
        secret, key = open_key(made)
        (link,) = write_site(made, secret, folder / "site")
        records = content_of([*key.whole])
        record = next(r for r in records if r["predictions"] and not r["given"])
        browser = playwright.chromium.launch(
            executable_path=chromium(), args=list(FLAGS)
        )
        page = browser.new_page()
        with served(folder / "site") as address:
            open_by_link(page, link, address)
            form = student.exercise(page, record["exercise"])
            times = measured(page, form, record)
        browser.close()
    number = median(times["number"])
    tell("a number, until it is recorded", f"{number:.0f} ms")
    first, *others = times["reading"]
    for what, time_ms in (
        ("a set-up, until it is told", median(times["set-up"])),
        ("the first reading, from the click", first),
        ("from the click to the reading", median(others)),
    ):
        tell(what, f"{time_ms:.0f} ms, {time_ms / number:.1f} times that")


if __name__ == "__main__":
    main()
