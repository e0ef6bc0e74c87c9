"""Works an exercise by keyboard alone, knowing only what has the focus."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser import page as student

_MOST_TABS = 150
_FOCUSED = """() => {
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
        return self.page.evaluate(_FOCUSED)

    def tab_to(self, name, *, back=False):
        """Press Tab until something of that name has the focus, and is seen to."""
        for _ in range(_MOST_TABS):
            self.press("Shift+Tab" if back else "Tab")
            now = self.focused()
            assert now["tag"] != "BODY", "the focus was lost"
            assert now["isSeen"] or not now["isInForm"], f"focus not seen: {now}"
            if now["isInForm"] and now["name"].strip() == name:
                return
        pytest.fail(f"{name} cannot be reached by Tab")

    def choose(self, name):
        """Move within a group of radios by the arrow keys."""
        for _ in range(_MOST_TABS):
            if self.focused()["name"].strip() == name:
                self.press("Space")
                return
            self.press("ArrowDown")
        pytest.fail(f"{name} cannot be reached by arrows")

    def select(self, label, text):
        """Choose in a menu by typing what stands in it."""
        self.tab_to(label)
        self.page.keyboard.type(text)


def predict(keys, form, label, text):
    """Type a number and record it once its echo is there."""
    keys.tab_to("Your number with its unit")
    keys.page.keyboard.type(text)
    expect(form.locator(".cb-echo.cb-right")).to_contain_text("Read as")
    press_and_see(keys, form, "Enter", label)


def conclude(keys, form, cause, correction):
    """Choose cause and correction by what stands in the menus, and record them."""
    keys.select("Cause", cause)
    keys.select("Correction", correction)
    keys.tab_to("Record conclusion")
    press_and_see(keys, form, "Enter", "Cause")


def do(keys, form, test):
    """Choose a test, read it and say what it proves, without a mouse."""
    place = unfold(keys, form, test)
    keys.tab_to(place.locator(".cb-option .cb-label").first.inner_text())
    keys.choose(student.short_title(form, test["title"]))
    keys.tab_to(test["outcomes"][0])
    keys.choose(test["sound_outcome"])
    keys.tab_to("Do this test")
    press_and_see(keys, form, "Enter", test["title"])
    expect(student.status(form)).to_contain_text(f"Reading: {test['display']}")
    keys.tab_to(test["outcomes"][0])
    keys.choose(test["outcome"])
    keys.tab_to(test["statements"][0]["text"])
    keys.choose(student.proof_of(test))
    keys.tab_to("Record finding")
    press_and_see(keys, form, "Enter", test["title"])
    expect(student.status(form)).to_contain_text("Your finding is right.")


def unfold(keys, form, test):
    """Unfold the place of a test, unless it is; gives the place."""
    option = form.locator(f"[data-test={test['id']}]")
    for fold in student.folded_around(option):
        keys.tab_to(fold.locator("> summary").inner_text())
        keys.press("Enter")
    return option.locator("xpath=ancestor::details[1]")


def press_and_see(keys, form, key, name):
    """Record a step: the focus goes to what came of it, by its name."""
    keys.press(key)
    expect(form.locator(":focus")).to_have_attribute("aria-label", name)
    expect(student.status(form)).to_contain_text(re.compile(r"Recorded \d\d:\d\d"))
