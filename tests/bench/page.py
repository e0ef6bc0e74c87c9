"""What an exercise costs a student on its page: python -m tests.bench.page.

Works one diagnosis with four tests on a desktop and on a phone, looking at diagram and
sheet once a step. Counts clicks or taps, key presses, and how far the page is scrolled;
then how far the active field is from diagram, sheet and button, all in screens.
"""

from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from playwright.sync_api import sync_playwright

from generator.drawing.request import Request, Student
from generator.sets.class_set import open_key
from generator.sets.set_writing import write_class_set
from tests.bench.site import tell
from tests.browser import key_work
from tests.browser import page as student
from tests.browser.conftest import FLAGS, chromium
from tests.browser.server import jupyter_server
from tests.drawn import SECRET
from tests.keys import content_of

TESTS = 4
SIZES = {"desktop": (1366, 768), "phone": (390, 844)}
FAR_MS = 60_000

# Sums up what is scrolled, up and down, in screens of what scrolls.
_WATCH = """() => {
  const page = document.querySelector(".jp-WindowedPanel-outer");
  globalThis.scrolled = 0;
  let at = page.scrollTop;
  page.addEventListener("scroll", () => {
    globalThis.scrolled += Math.abs(page.scrollTop - at) / page.clientHeight;
    at = page.scrollTop;
  });
}"""
# How far the middles of two things are apart in screens; none where both are in view.
_APART = """([one, other]) => {
  const box = (each) => each.getBoundingClientRect();
  const [a, b] = [box(one), box(other)];
  const page = document.querySelector(".jp-WindowedPanel-outer");
  const isSeen = (c) => c.height > 0 && c.bottom > 0 && c.top < page.clientHeight;
  if (isSeen(a) && isSeen(b)) return 0;
  const middle = (c) => c.top + c.height / 2;
  return Math.abs(middle(a) - middle(b)) / page.clientHeight;
}"""


def bring(target):
    """Scroll no further than until something is in view, as a person does."""
    target.evaluate("each => each.scrollIntoView({ block: 'nearest' })")


class Hand:
    """A student's hand, whose every move is counted."""

    def __init__(self, page, form, *, is_phone):
        self.page, self.form, self.is_phone = page, form, is_phone
        self.clicks = self.keys = 0
        self.apart = {"diagram": [], "sheet": [], "button": []}

    def press(self, target):
        """Click or tap something, brought into view first as a person would."""
        bring(target)
        target.tap() if self.is_phone else target.click()
        self.clicks += 1

    def type(self, field, text):
        """Type a text and Enter."""
        self.press(field)
        field.press_sequentially(text)
        self.keys += len(text)
        self.form.locator(".cb-echo.cb-right").wait_for()
        field.press("Enter")
        self.keys += 1

    def look(self, field, button):
        """Look at the diagram and the sheet once, from the field that is active."""
        bring(field)
        near = field.element_handle(), button.element_handle()
        self.apart["button"].append(self.page.evaluate(_APART, [*near]))
        for name in ("diagram", "sheet"):
            panel = self.form.locator(f".cb-panel[data-panel={name}]")
            tab = self.form.locator(f".cb-tabs [data-panel={name}]")
            if self.is_phone:
                self.press(tab)
            pair = [panel.element_handle(), panel.element_handle()]
            if not self.is_phone:
                pair[0] = near[0]
            self.apart[name].append(self.page.evaluate(_APART, pair))
            if self.is_phone:
                self.press(self.form.get_by_role("button", name="Close").first)


def work(hand, record):
    """Do the exercise: three numbers, four tests, the conclusion, the verification."""
    form = hand.form
    for asked in record["predictions"]:
        group = form.get_by_role("group", name=asked["label"], exact=True)
        field = group.get_by_role("textbox")
        hand.look(field, group.get_by_role("button", name="Record", exact=True))
        hand.type(field, key_work.typed(asked["value"], asked["unit"]))
        field.wait_for(state="detached")
    for test in tests_of(record):
        _test(hand, test)
    _conclude(hand, record)


def tests_of(record):
    """Four tests of the plan, or what comes next in the list where it has fewer."""
    planned = list(key_work.planned(record, key_work.all_causes(record)))
    others = [test for test in record["tests"] if test not in planned]
    return (planned + others)[:TESTS]


def _test(hand, test):
    form = hand.form
    option = form.locator(f"[data-test={test['id']}]")
    if not option.is_visible():
        hand.press(option.locator("xpath=ancestor::details[1]/summary"))
    radio = option.get_by_role("radio").first
    hand.press(radio)
    button = form.get_by_role("button", name="Do this test")
    expected = option.get_by_role("radio", name=test["sound_outcome"], exact=True)
    hand.look(expected, button)
    hand.press(expected)
    hand.press(button)
    finding = form.get_by_role("group", name="Your finding")
    finding.wait_for()
    outcome = finding.get_by_role("radio", name=test["outcome"], exact=True)
    button = finding.get_by_role("button", name="Record finding")
    hand.look(outcome, button)
    hand.press(outcome)
    statement = student.proof_of(test)
    hand.press(finding.get_by_role("radio", name=statement, exact=True))
    hand.press(button)
    finding.wait_for(state="hidden")


def _conclude(hand, record):
    form = hand.form
    group = form.get_by_role("group", name="Your conclusion")
    cause = key_work.option(record["causes"], "fault", record["fault"]["id"])
    repair = record["fault"]["repair"]
    correction = key_work.option(record["corrections"], "repair", repair)
    button = group.get_by_role("button", name="Record conclusion")
    for label, text in (("Cause", cause), ("Correction", correction)):
        hand.press(group.get_by_label(label))
        group.get_by_label(label).select_option(label=text)
    hand.press(button)
    asked = record["verification"]
    group = form.get_by_role("group", name=asked["label"], exact=True)
    field = group.get_by_role("textbox")
    field.wait_for()
    hand.look(field, group.get_by_role("button", name="Record", exact=True))
    hand.type(field, key_work.typed(asked["value"], asked["unit"]))
    field.wait_for(state="detached")


def graded_set(folder):
    """A graded set of one student, and the record of a whole diagnosis in it."""
    request = Request(
        lessons=("mixed-diagnosis",),
        students=(Student(id="s01", name="S"),),
        exercises=4,
        mode="graded",
    )
    made = write_class_set(folder / "SET", request, secret=SECRET)
    records = content_of([*open_key(made)[1].whole])
    return made, next(record for record in records if record["predictions"])


@contextmanager
def opened(playwright, server, path, size, *, is_phone):
    """The workbook in Notebook 7, in a window of a size."""
    browser = playwright.chromium.launch(executable_path=chromium(), args=list(FLAGS))
    width, height = size
    context = browser.new_context(
        viewport={"width": width, "height": height}, has_touch=is_phone
    )
    context.set_default_timeout(FAR_MS)
    page = context.new_page()
    student.open_workbook(page, server, path, "notebooks")
    yield page
    browser.close()


def measure(playwright, name, size):
    """Work the exercise in a window of a size, and print what it took."""
    with TemporaryDirectory() as place:
        folder = Path(place)
        made, record = graded_set(folder)
        (folder / "state").mkdir()
        with jupyter_server(made.folder, folder / "state") as server:
            path = made.workbook_file("s01").relative_to(made.folder)
            is_phone = name == "phone"
            with opened(playwright, server, path, size, is_phone=is_phone) as page:
                form = student.exercise(page, record["exercise"])
                page.evaluate(_WATCH)
                hand = Hand(page, form, is_phone=is_phone)
                work(hand, record)
                tell(f"{name}: clicks or taps", hand.clicks)
                tell(f"{name}: keys", hand.keys)
                scrolled = page.evaluate("() => globalThis.scrolled")
                tell(f"{name}: screens scrolled", f"{scrolled:.1f}")
                for what, apart in hand.apart.items():
                    most = f"{max(apart):.2f} screens at most, {len(apart)} looks"
                    tell(f"{name}: from the field to the {what}", most)


def main():
    """Print a line for each figure."""
    with sync_playwright() as playwright:
        for name, size in SIZES.items():
            measure(playwright, name, size)


if __name__ == "__main__":
    main()
