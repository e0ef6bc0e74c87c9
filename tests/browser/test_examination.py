"""A whole examination: two students, a supervisor, and a network that is cut midway."""

import threading

import pytest
from playwright.sync_api import expect

from generator.drawing.request import Request, Student
from generator.serving.room_service import READINGS, services_of
from generator.serving.web import Place, address_of, new_server
from generator.sets.set_writing import write_class_set
from generator.week.examination import room_of
from generator.week.marking import grade
from generator.week.opened import opened_set
from tests.browser import axe, key_work
from tests.browser import page as student
from tests.browser.conftest import ADA, BRUNO, site_links
from tests.browser.site import form_of, open_by_link
from tests.drawn import OTHER_SECRET
from tests.keys import content_of


@pytest.fixture
def opened(tmp_path):
    """An examination of two students, with an exercise each."""
    asked = Request(
        lessons=("mixed-diagnosis",),
        students=tuple(Student(id=name, name=name.title()) for name in (ADA, BRUNO)),
        exercises=1,
        mode="examination",
        causes="same",
    )
    # One whose plans have a second test: the network is cut before that.
    made = write_class_set(tmp_path / "set", asked, secret=OTHER_SECRET)
    return opened_set(made.folder)


@pytest.fixture
def room(opened):
    """Its room, served with the site: links, address, the supervisor's, itself."""
    links = {link.student: link for link in site_links(opened.class_set)}
    room = room_of(opened)
    token = opened.class_set.secret_file.parent / "room-token.txt"
    services, path = services_of(room, token, "en")
    place = Place(host="127.0.0.1", port=0)
    with new_server(opened.class_set.folder / "site", place, services) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        address = address_of(server, place)
        yield links, address, f"{address}{path}", room
        server.shutdown()


def row(page, name):
    """What the supervisor sees of a student."""
    return page.get_by_role("row").filter(has_text=name)


def choose(form, test):
    """Choose a test, whose reading may be long in coming."""
    option = student.option_of(form, test["title"])
    option.get_by_role("radio").first.check()
    option.get_by_role("radio", name=test["sound_outcome"], exact=True).check()
    option.get_by_role("button", name="Do this test").click()


def shown(test):
    """What stands on the meter, without what is seen beside it."""
    return test["display"].partition(";")[0]


def find(form, test):
    """Take a reading for what it is, once it is there."""
    display = form.locator(".cb-reading .cb-display")
    expect(display).to_have_text(shown(test), timeout=30_000)
    student.record_finding(form, test["outcome"], student.proof_of(test))


@pytest.mark.nightly
def test_two_students_and_a_supervisor_with_the_network_cut_midway(
    browser, opened, room
):
    """Nothing is lost, nobody sees a reading early, and both get all marks."""
    links, address, supervision, _ = room
    records = {name: content_of(opened.key.whole_of(name)[0]) for name in (ADA, BRUNO)}
    ways = {
        name: list(key_work.planned(one, key_work.all_causes(one)))
        for name, one in records.items()
    }
    with (
        browser.new_context(bypass_csp=True) as office,
        browser.new_context() as of_ada,
        browser.new_context() as of_bruno,
    ):
        desk, ada = office.new_page(), of_ada.new_page()
        bruno = of_bruno.new_page()
        desk.goto(supervision)
        expect(desk.get_by_role("status")).to_have_text("Not started")
        open_by_link(ada, links[ADA], address)
        form = student.exercise(ada, 1)
        line = form.locator(".cb-room")
        expect(line).to_contain_text("has not started")
        key_work.predict(form, records[ADA])
        first, *rest = ways[ADA]
        choose(form, first)
        expect(
            form.locator(".cb-text", has_text="your choice is recorded")
        ).to_be_visible()
        expect(form.locator(".cb-reading .cb-display")).to_have_count(0)

        desk.get_by_role("button", name="Start").click()
        expect(desk.get_by_role("status")).to_have_text("Running")
        find(form, first)
        expect(line).to_contain_text("has all your steps")
        assert axe.faults(desk) == []

        open_by_link(bruno, links[BRUNO], address)
        theirs = student.exercise(bruno, 1)
        key_work.predict(theirs, records[BRUNO])
        choose(theirs, ways[BRUNO][0])
        expect(theirs.locator(".cb-reading .cb-display")).to_have_text(
            shown(ways[BRUNO][0]), timeout=30_000
        )
        bruno.reload()
        form_of(bruno)
        theirs = student.exercise(bruno, 1)
        find(theirs, ways[BRUNO][0])

        # The network is cut: all but the next reading goes on.
        of_ada.route(f"**{READINGS}*", lambda route: route.abort())
        for test in rest[:1]:
            choose(form, test)
            expect(line).to_contain_text("does not answer", timeout=30_000)
            expect(form.locator(".cb-reading .cb-display")).to_have_count(0)
        expect(row(desk, "Ada")).to_contain_text("tests done: 1")
        of_ada.unroute(f"**{READINGS}*")
        for test in rest[:1]:
            find(form, test)
        for test in rest[1:]:
            choose(form, test)
            find(form, test)
        key_work.finish(form, records[ADA])
        for test in ways[BRUNO][1:]:
            choose(theirs, test)
            find(theirs, test)
        key_work.finish(theirs, records[BRUNO])

        for name in ("Ada", "Bruno"):
            expect(row(desk, name)).to_contain_text("1 of 1", timeout=30_000)
        desk.on("dialog", lambda dialog: dialog.accept())
        desk.get_by_role("button", name="End it").click()
        expect(line).to_contain_text("is over", timeout=30_000)
        desk.get_by_role("button", name="Seal the record").click()
        expect(desk.get_by_role("status")).to_have_text("Over, and sealed")
    for one in grade(opened_set(opened.class_set.folder)).result.students:
        assert_all_marks(one)


def assert_all_marks(one):
    """Whether a student has everything right."""
    steps = [step for exercise in one.exercises for step in exercise.marks.steps]
    assert [step.mark for step in steps] == pytest.approx(
        [step.out_of for step in steps]
    )


def from_slip(form, text):
    """Type a reading from a slip of paper."""
    slip = form.get_by_role("group", name="Reading from a slip of paper")
    slip.get_by_label("What the slip says").fill(text)
    slip.get_by_role("button", name="Take this reading").click()
    expect(slip).to_be_hidden()


@pytest.mark.nightly
def test_student_goes_on_at_another_machine_and_takes_a_reading_from_paper(
    browser, opened, room
):
    """With the code alone all is there again; what a slip says is worked with as well.

    The room has what the first machine recorded, and the second one's steps beside a
    slip as soon as it is reached again: one work, all of whose marks count.
    """
    links, address, supervision, its = room
    record = content_of(opened.key.whole_of(ADA)[0])
    first, second, *rest = key_work.planned(record, key_work.all_causes(record))
    its.start()
    with browser.new_context() as broken:
        page = broken.new_page()
        open_by_link(page, links[ADA], address)
        form = student.exercise(page, 1)
        key_work.predict(form, record)
        choose(form, first)
        find(form, first)
        expect(form.locator(".cb-room")).to_contain_text("has all your steps")
    with browser.new_context() as other:
        page = other.new_page()
        open_by_link(page, links[ADA], address)
        form = student.exercise(page, 1)
        expect(form).to_contain_text(shown(first), timeout=30_000)
        other.route(f"**{READINGS}*", lambda route: route.abort())
        choose(form, second)
        from_slip(form, shown(second))
        find(form, second)
        other.unroute(f"**{READINGS}*")
        for test in rest:
            choose(form, test)
            find(form, test)
        key_work.finish(form, record)
        # What the student is told may still be of the step before.
        desk = other.new_page()
        desk.goto(supervision)
        expect(row(desk, "Ada")).to_contain_text("1 of 1", timeout=30_000)
    # A journal of each machine, which make one work.
    assert len(its.seats[ADA].record.counts) == 2
    its.stop()
    ada, bruno = grade(opened_set(opened.class_set.folder)).result.students
    assert_all_marks(ada)
    assert bruno.file is None
