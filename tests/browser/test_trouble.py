"""What goes wrong beside the page: nothing is lost, or it is told at once."""

import signal
import subprocess
from contextlib import suppress

import pytest
from playwright.sync_api import expect

from tests.browser import page as student
from tests.workbook.sample import write_workbook

EXERCISES = 12  # their answers do not fit into what is left of a block


@pytest.fixture
def small_disk(server):
    """A served folder on a disk of its own, of 200 kB."""
    folder = server.folder / "small disk"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=200k", "none", folder]
    if subprocess.run(mount, check=False, capture_output=True).returncode:
        pytest.skip("this user cannot mount a disk")
    yield folder
    subprocess.run(["umount", "--lazy", folder], check=True)


def _opened(page, server, path, exercises):
    student.open_workbook(page, server, path.relative_to(server.folder), "notebooks")
    return student.exercise(page, exercises)


# The 2 s that anywidget gives a form to load its script are over at once.
_NO_TIME = """AbortSignal.timeout = () => {
  const own = new AbortController();
  setTimeout(() => own.abort(), 0);
  return own.signal;
}"""


def test_form_that_is_slow_to_load_hears_its_kernel(fresh_page, server, new_workbook):
    """What is recorded is told as recorded, and shown, on a slow computer as well."""
    fresh_page.add_init_script(_NO_TIME)
    path = new_workbook(1)
    student.open_workbook(fresh_page, server, path, "notebooks")
    form = student.exercise(fresh_page, 1)
    student.type_all(fresh_page, {0: "148 mA"})
    form.get_by_role("button", name="Record").first.click()
    expect(form.locator(".cb-answer")).to_have_count(1)
    expect(student.status(form)).to_contain_text(student.RECORDED)


@pytest.mark.nightly
def test_full_disk_is_told_and_what_was_recorded_handed_in(
    notebook_tab, server, small_disk
):
    """The page says what is not recorded, and goes on when there is room again."""
    path = write_workbook(small_disk, count=EXERCISES)
    page = notebook_tab
    form = _opened(page, server, path, EXERCISES)
    student.type_all(page, dict.fromkeys(range(2 * EXERCISES), "148 mA"))
    ballast = small_disk / "ballast"
    _fill(ballast)
    student.record_all_at_once(page)
    told = page.locator(".cb-said", has_text="No space left on device")
    recorded = page.locator(".cb-answer")
    expect(told.or_(recorded)).to_have_count(2 * EXERCISES)
    expect(form).to_contain_text("Nothing is being recorded.")
    assert _handed_in(page, form) == recorded.count() < 2 * EXERCISES
    ballast.unlink()
    student.record_all_at_once(page)
    expect(recorded).to_have_count(2 * EXERCISES)
    expect(form).not_to_contain_text("Nothing is being recorded.")
    assert _handed_in(page, form) == 2 * EXERCISES


def _handed_in(page, form):
    _, lines = student.download_hand_in(page, form)
    return sum("raw" in line for line in lines)


def _fill(ballast):
    """Leave no byte of room."""
    with ballast.open("wb", buffering=0) as file, suppress(OSError):
        while True:
            file.write(bytes(4096))


@pytest.mark.nightly
def test_closed_lid_loses_nothing(notebook_tab, server, new_workbook):
    """A step that was under way when all stood still is recorded, and told late."""
    path = new_workbook(1)
    page = notebook_tab
    form = _opened(page, server, server.folder / path, 1)
    devtools = page.context.new_cdp_session(page)
    for steps, is_frozen in ((1, False), (2, True)):
        student.type_all(page, {0: "148 mA"})
        server.signal_kernel(path, signal.SIGSTOP)
        student.record_all_at_once(page)
        if is_frozen:
            devtools.send("Page.setWebLifecycleState", {"state": "frozen"})
        else:
            expect(student.status(form)).to_contain_text("NOT recorded")
        server.signal_kernel(path, signal.SIGCONT)
        devtools.send("Page.setWebLifecycleState", {"state": "active"})
        expect(student.status(form)).to_contain_text(student.RECORDED)
        assert _handed_in(page, form) == steps
