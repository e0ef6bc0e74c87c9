"""Workbooks for everybody: WCAG 2.2 AA, by keyboard alone, without any picture.

References
----------
W3C, Web Content Accessibility Guidelines 2.2 (2023): 1.4.10 reflow at 320 CSS pixels,
2.1.1 keyboard, 2.4.7 focus visible, 2.5.8 target size of 24 pixels; from memory.
"""

import json
import re
import signal

import pytest
from playwright.sync_api import expect

from generator.drawing.request import Request, Student
from generator.sets.class_set import open_key
from generator.sets.set_writing import write_class_set
from tests.browser import axe, key_work
from tests.browser import page as student

pytestmark = pytest.mark.xdist_group("accessibility")  # takes as long as all others

THEMES = {"JupyterLab Light": "true", "JupyterLab Dark": "false"}
EVERY_VIEW = [(theme, width) for theme in THEMES for width in axe.WIDTHS_PX]
# What is drawn by other rules than the wide, light page that most of them give.
ONE_VIEW = [("JupyterLab Dark", 320)]
MOST_TABS = 150
LEAST_PX = 24


@pytest.fixture(
    scope="module",
    params=["ada", pytest.param("bruno", marks=pytest.mark.nightly)],
    ids=["one view", "every view"],
)
def worker(request):
    """Whose workbook is looked at; Bruno's in every theme and width in every state."""
    return request.param


@pytest.fixture(scope="module")
def views(worker):
    """How most states are looked at: pairs of theme and width."""
    return ONE_VIEW if worker == "ada" else EVERY_VIEW


@pytest.fixture(scope="module")
def class_set(server, worker):
    """A practice set for that student, with every kind of field in it."""
    request = Request(
        lessons=("two-circuits", "low-load-current", "previous-repair"),
        students=(Student(id=worker, name=worker.title()),),
        exercises=9,
        mode="practice",
    )
    return write_class_set(server.folder / f"FOR {worker}", request)


@pytest.fixture(scope="module")
def path(server, class_set, worker):
    """The workbook, below the served folder."""
    return class_set.workbook_file(worker).relative_to(server.folder)


@pytest.fixture(scope="module")
def records(class_set):
    """Key records of that student; the first one of a kind by its name."""
    return list(open_key(class_set)[1].content)


@pytest.fixture(scope="module")
def opened(browser, server, path):
    """The workbook alone on its page, as most students see it."""
    with browser.new_context(viewport={"width": 1280, "height": 900}) as context:
        page = context.new_page()
        student.open_workbook(page, server, path, "notebooks")
        student.exercise(page, 1)
        yield page


def diagnoses(records):
    """The records of which the student does all: predictions, tests, conclusion."""
    return [r for r in records if r["kind"] == "diagnosis" and not r["given"]]


def faults(page, form, views):
    """What is wrong with a form, as it is drawn in some views."""
    number = form.get_attribute("aria-label").split()[1]
    found = faults_of(page, f".cb-root[aria-label^='Exercise {number} ']", views)
    # Still narrow, where these would be first.
    if _overflows(form):
        found.append("scrolls sideways")
    found += _small_targets(form)
    page.set_viewport_size({"width": 1280, "height": 900})
    return found


def faults_of(page, place, views):
    """What axe-core finds in a place of the page in some views."""
    found = []
    for theme in other_theme_last(page, {theme for theme, _ in views}):
        choose_theme(page, theme)
        widths = [width for other, width in views if other == theme]
        found += [f"{theme}, {fault}" for fault in axe.faults_at(page, widths, place)]
    return found


def other_theme_last(page, themes):
    """Those themes, that of the page first, since a change takes time."""
    now = page.locator("body").get_attribute("data-jp-theme-light")
    return sorted(themes, key=lambda theme: THEMES[theme] != now)


def choose_theme(page, theme):
    """Have Jupyter change to one of its themes."""
    page.evaluate(_CHOOSE, theme)
    page.locator(f"body[data-jp-theme-light={THEMES[theme]}]").wait_for(
        state="attached"
    )


_CHOOSE = """(theme) =>
  jupyterapp.commands.execute("apputils:change-theme", { theme })"""


def _overflows(form):
    return form.evaluate("root => root.scrollWidth > root.clientWidth + 1")


def _small_targets(form):
    """Controls that are hard to hit; the label of a radio belongs to it."""
    return form.evaluate(
        """(root, least) => [...root.querySelectorAll("button,input,select,summary")]
          .map((one) => [one, (one.closest("label") ?? one).getBoundingClientRect()])
          .filter(([, box]) => box.width && (box.width < least || box.height < least))
          .map(([one, box]) => `${one.outerHTML} ${box.width} x ${box.height}`)""",
        LEAST_PX,
    )


def test_no_state_of_a_diagnosis_keeps_people_out(opened, records, views):
    """From the first look to the hand-in, with the screen of a scope on the way."""
    record = diagnoses(records)[0]
    form = student.exercise(opened, record["exercise"])
    assert faults(opened, form, EVERY_VIEW) == []
    key_work.predict(form, record, wrong=("load_current",))
    planned = key_work.planned(record, key_work.all_causes(record))
    scope = next(test for test in record["tests"] if test["id"] == "scope_turn_off")
    form.get_by_role("button", name=re.compile("^Show the first hint")).click()
    form.locator(".cb-option").filter(has_text=scope["title"]).first.click()
    assert faults(opened, form, views) == []
    student.do_test(form, scope["title"], scope["sound_outcome"])
    expect(form.locator(".cb-screen img")).to_be_visible()
    assert faults(opened, form, views) == []
    student.record_finding(form, scope["outcome"], student.proof_of(scope))
    assert faults(opened, form, views) == []
    for test in planned:
        if test["id"] != scope["id"]:
            key_work.do(form, test)
    key_work.finish(form, record)
    student.download_hand_in(opened, form)
    assert faults(opened, form, views) == []


def test_what_is_done_for_the_student_keeps_nobody_out(opened, records, views):
    """Numbers and readings that are there already, with their reasons."""
    record = next(record for record in records if record["given"])
    assert faults(opened, student.exercise(opened, record["exercise"]), views) == []


@pytest.mark.parametrize("kind", ["branches", "drops", "write-up"])
def test_no_kind_of_question_keeps_people_out(opened, records, views, kind):
    """Menus, lines, orders and numbers, asked and with a number that was refused."""
    record = next(record for record in records if record["kind"] == kind)
    form = student.exercise(opened, record["exercise"])
    form.get_by_role("button", name="Record", exact=True).first.click()
    expect(student.status(form)).to_contain_text("Answer first")
    assert faults(opened, form, views) == []


def test_text_around_the_forms_keeps_nobody_out(opened, views):
    """Lessons, diagrams, tables and sheets of a narrow page neither hide nor scroll."""
    opened.set_viewport_size({"width": 320, "height": 3000})
    text = ".jp-RenderedMarkdown"
    opened.locator(f"{text} details").evaluate_all(_OPEN)
    expect(opened.locator(f"{text} table:visible").first).to_be_visible()
    assert faults_of(opened, text, views) == []
    wide = opened.locator(text).evaluate_all(
        "all => all.filter((each) => each.scrollWidth > each.clientWidth + 1)"
        ".map((each) => each.innerText)"
    )
    assert wide == []
    for image in opened.locator(f"{text} img").all():
        assert len(image.get_attribute("alt")) > 40


_OPEN = "all => all.forEach((each) => { each.open = true; })"


# ---- by keyboard alone -------------------------------------------------------

FOCUSED = """() => {
  const at = document.activeElement;
  const style = getComputedStyle(at);
  return {
    name: (at.labels?.[0]?.querySelector(".cb-label") ?? at.labels?.[0])?.innerText
      ?? at.ariaLabel ?? at.innerText ?? "",
    tag: at.tagName,
    isInForm: Boolean(at.closest(".cb-root")),
    isSeen: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
  };
}"""


class Keys:
    """A student without a mouse, who only knows what has the focus."""

    def __init__(self, page, form):
        self.page = page
        # Where a student arrives who comes to the exercise by its heading.
        form.locator("h3").evaluate(
            "h => { h.tabIndex = -1; h.focus(); h.removeAttribute('tabindex'); }"
        )

    def press(self, *keys):
        for key in keys:
            self.page.keyboard.press(key)

    def focused(self):
        return self.page.evaluate(FOCUSED)

    def tab_to(self, name, *, back=False):
        """Press Tab until something of that name has the focus, and is seen to."""
        for _ in range(MOST_TABS):
            self.press("Shift+Tab" if back else "Tab")
            now = self.focused()
            assert now["tag"] != "BODY", "the focus was lost"
            assert now["isSeen"] or not now["isInForm"], f"focus not seen: {now}"
            if now["isInForm"] and now["name"].strip() == name:
                return
        pytest.fail(f"{name} cannot be reached by Tab")

    def choose(self, name):
        """Move within a group of radios by the arrow keys."""
        for _ in range(MOST_TABS):
            if self.focused()["name"].strip() == name:
                self.press("Space")
                return
            self.press("ArrowDown")
        pytest.fail(f"{name} cannot be reached by arrows")

    def select(self, label, text):
        """Choose in a menu by typing what stands in it."""
        self.tab_to(label)
        self.page.keyboard.type(text)


def test_whole_exercise_by_keyboard_alone(fresh_page, server, path, records):
    """In JupyterLab, whose own keys would take letters and arrows as commands."""
    record = diagnoses(records)[1]
    page = fresh_page
    student.open_workbook(page, server, path)
    form = student.exercise(page, record["exercise"])
    keys = Keys(page, form)
    for asked in record["predictions"]:
        keys.tab_to("Your number with its unit")
        page.keyboard.type(key_work.typed(asked["value"], asked["unit"]))
        expect(form.locator(".cb-echo.cb-right")).to_contain_text("Read as")
        _press_and_see(keys, form, "Enter", asked["label"])
    for test in key_work.planned(record, key_work.all_causes(record)):
        _do_by_keys(keys, form, test)
    cause = key_work.option(record["causes"], "fault", record["fault"]["id"])
    repair = record["fault"]["repair"]
    keys.select("Cause", cause)
    keys.select("Correction", key_work.option(record["corrections"], "repair", repair))
    keys.tab_to("Record conclusion")
    _press_and_see(keys, form, "Enter", "Cause")
    keys.tab_to("Your number with its unit")
    asked = record["verification"]
    page.keyboard.type(key_work.typed(asked["value"], asked["unit"]))
    expect(form.locator(".cb-echo.cb-right")).to_contain_text("Read as")
    _press_and_see(keys, form, "Enter", asked["label"])
    keys.tab_to("Download my hand-in")
    with page.expect_download():
        keys.press("Enter")
    expect(form).to_contain_text("Cause and correction are right.")
    # Letters and arrows would have inserted cells, or deleted them.
    cells = json.loads((server.folder / path).read_text("utf-8"))["cells"]
    assert page.locator(".jp-Cell").count() <= len(cells)
    expect(page.locator(".jp-Dialog")).to_have_count(0)


def _do_by_keys(keys, form, test):
    """Choose a test, read it and say what it proves, without a mouse."""
    chooser = form.get_by_role("group", name=re.compile("^Choose (a|the next) test$"))
    first = chooser.locator(".cb-option .cb-label").first.inner_text()
    keys.tab_to(first)
    keys.choose(test["title"])
    keys.tab_to(test["outcomes"][0])
    keys.choose(test["sound_outcome"])
    keys.tab_to("Do this test")
    _press_and_see(keys, form, "Enter", test["title"])
    expect(student.status(form)).to_contain_text(f"Reading: {test['display']}")
    keys.tab_to(test["outcomes"][0])
    keys.choose(test["outcome"])
    keys.tab_to(test["statements"][0]["text"])
    keys.choose(student.proof_of(test))
    keys.tab_to("Record finding")
    _press_and_see(keys, form, "Enter", test["title"])
    expect(student.status(form)).to_contain_text("Your finding is right.")


def _press_and_see(keys, form, key, name):
    """Record a step: the focus goes to what came of it, by its name."""
    keys.press(key)
    expect(form.locator(":focus")).to_have_attribute("aria-label", name)
    expect(student.status(form)).to_contain_text(re.compile(r"Recorded \d\d:\d\d"))


# ---- without any picture -----------------------------------------------------


def test_whole_exercise_from_its_words_alone(opened, records):
    """Everything that is needed is in the names and texts that a reader speaks."""
    record = diagnoses(records)[2]
    form = student.exercise(opened, record["exercise"])
    cell = opened.locator(".jp-RenderedMarkdown").filter(
        has_text=f"Exercise {record['exercise']}. "
    )
    spoken = cell.aria_snapshot()
    _see_that_the_diagram_is_told(spoken, record)
    for row in record["specification"]:
        assert f"{row['quantity']} " in spoken
    key_work.predict(form, record)
    for test in key_work.planned(record, key_work.all_causes(record)):
        assert f'radio "{test["title"]}' in form.aria_snapshot()
        student.do_test(form, test["title"], test["sound_outcome"])
        reading = form.get_by_role("group", name=test["title"], exact=True)
        assert test["display"] in reading.aria_snapshot()
        student.record_finding(form, test["outcome"], student.proof_of(test))
    key_work.finish(form, record)
    assert "Cause and correction are right." in form.aria_snapshot()


def _see_that_the_diagram_is_told(spoken, record):
    """As a picture with words, and as a table that follows the current."""
    assert re.search(r'img "[^"]{40,}', spoken)
    table = spoken[spoken.index("- table") :]
    for terminal in ("30", "85", "86", "87"):
        assert re.search(rf"terminal {terminal}\b", table), terminal
    assert record["circuit"]["branches"]


def test_nothing_moves_by_itself(opened, records):
    """No animation or transition of ours, whatever the system asks for."""
    form = student.exercise(opened, diagnoses(records)[0]["exercise"])
    moving = form.evaluate(
        """root => [...root.querySelectorAll("*")].filter((each) => {
          const { animationName, transitionDuration } = getComputedStyle(each);
          return animationName !== "none" || parseFloat(transitionDuration) > 0;
        }).length"""
    )
    assert moving == 0


def test_lost_kernel_keeps_nobody_out(opened, server, path, records, views):
    """The banner that says NOT recorded can be read by all."""
    record = next(record for record in records if record["kind"] == "drops")
    form = student.exercise(opened, record["exercise"])
    server.signal_kernel(path, signal.SIGKILL)
    field = form.get_by_role("textbox").first
    field.fill("148 mA")
    field.press("Enter")
    expect(student.status(form)).to_contain_text("NOT recorded")
    student.dismiss_dialog(opened)
    assert faults(opened, form, views) == []
