"""Many classes: what is done is not done again, and one that fails stops no other."""

import os
import signal
from contextlib import closing
from pathlib import Path
from queue import SimpleQueue
from tempfile import TemporaryDirectory

import pytest
from msgspec import msgpack

from answer_keys.gradebook.gradebook import Gradebook
from generator.classes.done import Access
from generator.classes.jobs import Job
from generator.classes.plan import read_plan
from generator.classes.pool import Pool
from generator.classes.report import summary, write_school_report
from generator.classes.run import Engines, run_plan
from generator.classes.work import marking
from generator.sets.class_set import read_class_set
from generator.site.students import private_links
from generator.week.examination import room_of
from generator.week.opened import opened_set
from tests.absent import stop
from tests.answer_keys.postgres import postgres_server, programs
from tests.classes.school import (
    NO_ACCESS,
    PLAN,
    Here,
    drawn_in,
    new_school,
    run_here,
    run_in_pool,
)
from tests.cli.command import files_below, run
from tests.examining.desk_work import Clock, Page, whole_work
from workbook.record.journal import Owner


@pytest.fixture
def worked(own):
    """One whose first class has handed in."""
    run("simulate", own / "week" / "10a", "--kinds=novice")
    return own


class Stopped(Here):
    """Ends the run when the second class is begun, as Ctrl-C does."""

    def start(self, job):
        if self.done:
            raise KeyboardInterrupt
        super().start(job)


def test_stopped_run_goes_on_where_it_was(whole, tmp_path):
    """Other processes draw what is missing, and all is as if nothing had been."""
    folder = new_school(tmp_path / "school")
    with pytest.raises(KeyboardInterrupt):
        run_here(folder, Stopped)
    assert set(drawn_in(folder)) == {"10a"}
    rows = run_in_pool(folder, processes=1)
    assert {name: row.drawn for name, row in rows.items()} == {
        "10a": "there",
        "10b": "written",
    }
    assert drawn_in(folder) == drawn_in(whole)


def test_classes_share_no_secret_and_no_set(whole):
    """Whoever has drawn one can open the key of no other."""
    keys = {name: key for name, (_, key) in drawn_in(whole).items()}
    assert len({key.set_id for key in keys.values()}) == len(keys) == 2
    secrets = [
        (whole / "week" / name / "for-instructor" / "class-secret.txt").read_text()
        for name in keys
    ]
    assert len(set(secrets)) == 2


def test_hand_ins_are_graded_once_and_again_when_more_comes(worked):
    """Nothing is marked twice, and nothing that is new is overlooked."""
    own = worked / "week" / "10a"
    first, *others = sorted((own / "handed-in").iterdir())
    kept = first.rename(worked / first.name)
    rows, _ = run_here(worked)
    assert (rows["10a"].graded, rows["10b"].graded) == ("graded", "no hand-ins")
    assert rows["10a"].figures.graded == len(others) == 1
    before = files_below(worked)
    again, done = run_here(worked)
    assert again["10a"].graded == "as before"
    assert again["10a"].figures == rows["10a"].figures
    assert (done, files_below(worked)) == ([], before)
    # Whoever grades the class by itself changes what the school's report says.
    os.utime(own / "results" / "class-report.html")
    kept.rename(first)
    rows, done = run_here(worked)
    assert done == [("10a", "grading")]
    assert rows["10a"].figures.graded == 2
    page = write_school_report(read_plan(worked / "plan.toml"), tuple(rows.values()))
    assert 'href="10a/results/class-report.html"' in page.read_text("utf-8")
    assert "Berg" not in page.read_text("utf-8")


def test_class_that_fails_stops_no_other(own):
    """A set that the plan asks otherwise for now is kept, and the reason is told."""
    folder = own
    (folder / "week" / "10a" / "set.toml").unlink()
    rows, _ = run_here(folder)
    assert (rows["10a"].drawn, rows["10b"].drawn) == ("failed", "there")
    assert "is no class set" in rows["10a"].fault
    changed = PLAN.replace('roster = "10b.csv"', 'roster = "10b.csv"\nexercises = 2')
    (folder / "plan.toml").write_text(changed)
    before = files_below(folder / "week" / "10b")
    rows, _ = run_here(folder)
    assert "is another set than the plan asks for now" in rows["10b"].fault
    assert files_below(folder / "week" / "10b") == before
    told = summary(read_plan(folder / "plan.toml"), tuple(rows.values()))
    assert told["sets"] == {"failed": 2}
    assert "is no class set" in told["classes"][0]["fault"]


def test_file_that_is_gone_costs_its_class_alone(own):
    """What a class is graded with may vanish; the file is named in one sentence."""
    first, second = own / "week" / "10a", own / "week" / "10b"
    for folder in (first, second):
        (folder / "handed-in").mkdir(exist_ok=True)
        (folder / "handed-in" / "notes.txt").write_text("x")
    rubric = first / "for-instructor" / "rubric.toml"
    rubric.unlink()
    rows, done = run_here(own)
    assert (rows["10a"].drawn, rows["10a"].graded) == ("there", "failed")
    assert rows["10a"].fault.startswith(f"{rubric}: cannot be read or written (")
    assert rows["10a"].fault.count("\n") == 0
    assert rows["10b"].graded == "graded"
    assert done == [("10b", "grading")]


def run_far(folder):
    """Run a plan as with a cluster: what is marked is shipped; the rows by class."""
    answers = SimpleQueue()
    engines = Engines(near=Here(answers), far=Here(answers), answers=answers)
    rows = run_plan(read_plan(folder / "plan.toml"), engines, NO_ACCESS)
    return {row.planned.name: row for row in rows}, engines.far.done


@pytest.fixture
def crew_here(monkeypatch):
    """Mark a shipment in this process: a program of its own takes seconds."""
    monkeypatch.setattr(marking, "do", marked_here)


def marked_here(shipment):
    """Mark what was shipped, by the same marker as the crew's."""
    with TemporaryDirectory() as name:
        for file in shipment.files:
            path = Path(name, os.fsdecode(file.name))
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(file.data)
        return msgpack.encode(list(shipment.marker.marked_in(Path(name))))


def examined(folder, name, clock):
    """Let the first student of a class do all rightly in its room."""
    opened = opened_set(folder / "week" / name)
    room = room_of(opened)
    room.clock = clock
    room.start()
    link = private_links(opened.class_set, opened.secret)[0]
    owner = Owner(set_id=opened.class_set.set_id, student=link.student, edition=1)
    desk = folder / f"desk of {link.student}"
    desk.mkdir()
    page = Page(desk, owner, clock)
    for record in opened.key.of_student(link.student).values():
        page.record(*(entry for group in whole_work(record) for entry in group))
    page.send(lambda body: room.exchange(link.code, body))


@pytest.mark.usefixtures("crew_here")
@pytest.mark.parametrize("how", [run_here, run_far])
def test_examination_of_many_classes_is_graded_from_their_rooms(tmp_path, how):
    """Nobody hands a file in; what a room has written comes to the marks by itself."""
    exam = PLAN.replace('"practice"', '"examination"\ncauses = "same"')
    folder = new_school(tmp_path / "school", exam)
    how(folder)
    assert how(folder)[0]["10a"].graded == "no hand-ins"
    examined(folder, "10a", Clock())
    rows = how(folder)[0]
    assert (rows["10a"].graded, rows["10b"].graded) == ("graded", "no hand-ins")
    assert (rows["10a"].figures.graded, rows["10a"].figures.median) == (1, 100.0)
    assert how(folder)[0]["10a"].graded == "as before"


def test_gradebook_of_a_school_is_in_its_server(worked):
    """The classes' own folders keep none, and what is there is not graded again."""
    if not programs():
        stop("no PostgreSQL here")
    run("simulate", worked / "week" / "10b", "--kinds=expert")
    sets = [read_class_set(worked / "week" / name) for name in ("10a", "10b")]
    with postgres_server() as server:
        access = Access(gradebook=server.new_database())
        rows, done = run_here(worked, access=access)
        assert {row.graded for row in rows.values()} == {"graded"}
        assert len(done) == 2
        with Gradebook(access.gradebook) as book:
            found = dict(book.counted_of_sets([one.set_id for one in sets]))
        assert [len(found[one.set_id]) for one in sets] == [2, 1]
        assert not any(one.gradebook_file.exists() for one in sets)
        again, done = run_here(worked, access=access)
        assert ({row.graded for row in again.values()}, done) == ({"as before"}, [])
        # In another one there is nothing yet.
        other = Access(gradebook=server.new_database())
        rows, _ = run_here(worked, access=other)
        assert {row.graded for row in rows.values()} == {"graded"}


class Deadly:
    """Kills the process that it is sent to."""

    def __setstate__(self, _):
        os.kill(os.getpid(), signal.SIGKILL)

    def __getstate__(self):
        return 1


@pytest.mark.nightly
def test_process_that_dies_costs_one_job_alone():
    """What was under way beside it is told as lost, and may be begun again."""
    answers = SimpleQueue()
    harmless = Job(name="10b", work="drawing", given=())
    with closing(Pool(1, answers.put)) as pool:
        pool.start(Job(name="10a", work="drawing", given=(Deadly(),)))
        pool.start(harmless)
        assert [answers.get().is_lost for _ in range(2)] == [True, True]
        assert not pool.mend()
        pool.start(harmless)
        # There is nothing to draw, which is a fault of ours and told as one.
        assert "Please report it" in answers.get().fault
