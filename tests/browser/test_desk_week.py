"""A whole week at the desk: by keyboard, and what comes after it with the mouse."""

import shutil
from urllib.parse import quote

import pytest

from generator.sets.class_set import read_class_set
from generator.week.inventing import invent_work
from generator.week.opened import opened_set
from tests.browser.hands import Keyboard, Mouse
from tests.desk.running import running_desk

pytestmark = pytest.mark.nightly

SET = "week 1"
STUDENTS = 4
PATIENCE_MS = 600_000


def messy(students):
    """A list as a school's program writes it: semicolons, own headings, no UTF-8."""
    rows = (f"{101 + n};Müller-{101 + n};Jörg\r\n" for n in range(students))
    return "Nr.;Nachname;Vorname\r\n" + "".join(rows)


@pytest.mark.usefixtures("built")
def test_a_week_from_a_messy_list_to_the_next_set(browser, tmp_path):
    """A class: drawn, checked, given out, collected, marked, changed, deleted."""
    sets, home = tmp_path / "sets", tmp_path / "home"
    home.mkdir()
    with (
        running_desk(sets, home) as (_, address),
        browser.new_context(accept_downloads=True, locale="en-GB") as context,
    ):
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        page.goto(address)
        week = Week(page, Keyboard(page), tmp_path)
        week.make()
        made = read_class_set(sets / SET)
        week.give_out()
        week.collect(made)
        week.mark()
        week.hand_on()
        # All kinds of controls were used once; a mouse meets what lies over one.
        week.hand = Mouse(page)
        week.make_the_next()
        week.delete()
    assert (sets / "week 2" / "set.toml").is_file()


class Week:
    """What an instructor does in a week."""

    def __init__(self, page, hand, folder):
        self.page, self.hand, self.folder = page, hand, folder

    def button(self, name):
        return self.page.get_by_role("button", name=name, exact=True)

    def link(self, name):
        return self.page.get_by_role("link", name=name, exact=True)

    def told(self, text):
        self.page.get_by_text(text).first.wait_for()

    def step(self, name):
        self.hand.press(self.page.locator("#steps").get_by_role("link", name=name))
        self.page.get_by_role("heading", level=1, name=name).wait_for()

    def make(self):
        """From the class list to a set that is checked."""
        listed = self.folder / "Klasse.csv"
        listed.write_bytes(messy(STUDENTS).encode("cp1252"))
        self.hand.press(self.page.locator("main").get_by_role("link", name="New set"))
        self.hand.files(self.page.locator("input[type=file]"), [listed])
        self.told(f"Klasse.csv: {STUDENTS} rows")
        columns = {"Id": "Nr.", "First name": "Vorname", "Last name": "Nachname"}
        for label, column in columns.items():
            self.hand.pick(self.page.get_by_label(label, exact=True), column)
        self.hand.press(self.button("None"))
        self.hand.tick(self.page.locator("input[value=mixed-diagnosis]"))
        self.hand.tick(self.page.get_by_label("Graded"))
        exercises = self.page.get_by_label("Exercises for each student")
        self.hand.write(exercises, "1")
        self.hand.press(self.button("Preview"))
        self.told("1 diagnosis")
        self.hand.press(self.button("Make the set"))
        self.told("The set is sound. It can be given out.")

    def give_out(self):
        """Links for a web server of the school."""
        self.step("Give out")
        address = self.page.get_by_label("Address of the site")
        self.hand.write(address, "https://class.school.example")
        self.hand.press(self.button("Write the site"))
        self.told("https://class.school.example/#")
        self.hand.press(self.button("Sheet of codes to cut"))
        self.told("Open the sheet, and print it")

    def collect(self, made):
        """Hand-ins of all but two students, and two files that are none."""
        elsewhere = self.folder / "elsewhere"
        shutil.copytree(made.folder, elsewhere)
        invent_work(opened_set(elsewhere))
        came = sorted((elsewhere / "handed-in").iterdir())[:-2]
        notebook = made.workbook_file(made.request.students[0].id)
        self.step("Collect")
        self.told("Nothing came back yet.")
        files = self.page.locator("input[type=file]")
        self.hand.files(files, [*came, notebook, self.folder / "Klasse.csv"])
        self.told(f"{STUDENTS} files came in.")
        self.told(f"{STUDENTS - 2} / {STUDENTS}")
        self.told("Files that were not taken, and why")

    def mark(self):
        """Marks, one of them changed, and rules that would change many."""
        self.step("Mark")
        self.told("Marks of the class")
        self.hand.press(self.page.locator("table button").first)
        self.page.locator("h3").first.wait_for()
        change = self.page.get_by_role("button", name="Change: Exercise 1, Cause")
        self.hand.press(change)
        self.hand.write(self.page.get_by_label("New mark", exact=True), "12,5")
        self.hand.write(self.page.get_by_label("Reason"), "Told me in class")
        self.hand.press(self.button("Change").locator("visible=true").last)
        self.told("Told me in class")
        self.hand.press(self.page.get_by_text("What the marks go by"))
        self.hand.write(self.page.get_by_label("Cause", exact=True), "40")
        self.hand.press(self.button("See what would change"))
        self.told("marks change.")

    def hand_on(self):
        """A spreadsheet."""
        self.step("Hand on")
        self.hand.press(self.button("XLSX"))
        with self.page.expect_download() as download:
            self.hand.press(self.link("Save marks.xlsx"))
        assert download.value.suggested_filename == "marks.xlsx"

    def make_the_next(self):
        """From what is to be taught again."""
        self.step("See")
        self.hand.press(self.link("Make the set that practises it"))
        exercises = self.page.get_by_label("Exercises for each student")
        self.hand.write(exercises, "1")
        self.hand.press(self.button("Preview"))
        self.hand.press(self.button("Make the set"))
        self.page.wait_for_url("**/set/week%202/check")

    def delete(self):
        """A student who has left."""
        self.page.goto(f"{self.page.url.partition('#')[0]}#/set/{quote(SET)}/after")
        self.page.get_by_role("heading", level=1, name="Look after").wait_for()
        self.hand.press(self.button("Delete all that is kept"))
        self.hand.write(self.page.get_by_label("Type the id to delete: 101"), "101")
        self.hand.press(self.button("Delete"))
        self.told("Deleted")
