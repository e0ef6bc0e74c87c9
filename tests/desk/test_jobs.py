"""Long work: its end, its stop, and what becomes of it when its process is killed."""

import base64
import shutil

import psutil
import pytest

from answer_keys.keys.class_secret import ClassSecret, read_class_secret
from generator.desk.jobs import Jobs
from generator.week.class_list import invented_list
from generator.week.new_set import NewSet, generate
from tests.desk.conftest import SET
from tests.desk.running import Client


def test_work_that_is_unknown_says_so(instructor):
    """It ends as failed, with words."""
    job = instructor.end_of(instructor.begin("make coffee"))
    assert job["state"] == "failed"
    assert "make coffee" in job["error"]["message"]


def test_a_second_browser_sees_the_same_work(desk, instructor):
    """Work belongs to the desk and not to a page."""
    job = instructor.begin("make coffee")
    other = Client(desk[1]).open()
    assert other.end_of(other.job(job["id"]))["state"] == "failed"


def test_a_process_that_cannot_start_is_told(monkeypatch):
    """The work has failed, and no page waits for it for ever."""

    def none_left():
        raise OSError(11, "Resource temporarily unavailable")

    monkeypatch.setattr("generator.desk.jobs._Worker", none_left)
    jobs = Jobs()
    job = jobs.start("check", "", {})
    jobs.stop_all()
    assert (job.state, job.error["kind"]) == ("failed", "content")
    assert "temporarily unavailable" in job.error["message"]


@pytest.mark.nightly
def test_a_killed_process_is_told_as_lost(desk, instructor):
    """The desk goes on, and the next work is done."""
    job = instructor.begin("check", SET)
    while not job["steps"]:
        job = instructor.job(job["id"])
    for child in psutil.Process(desk[0].pid).children():
        child.kill()
    job = instructor.end_of(job)
    assert (job["state"], job["error"]["kind"]) == ("failed", "lost")
    assert instructor.end_of(instructor.begin("make coffee"))["state"] == "failed"


@pytest.mark.nightly
def test_stopped_work_leaves_nothing(desk, instructor):
    """A set that was not finished is not there, nor is anything of it."""
    asked = {"name": "half", "mode": "practice", "causes": "own", "set_language": "en"}
    job = instructor.begin(
        "generate", invented=60, exercises=4, lessons=["mixed-diagnosis"], **asked
    )
    while not job["steps"]:
        job = instructor.job(job["id"])
    assert instructor.api("DELETE", f"work/{job['id']}")[0] == 200
    assert instructor.end_of(job)["state"] == "stopped"
    assert [path.name for path in desk[2].iterdir()] == [SET]


def workbooks(folder):
    """The bytes of every workbook of a set."""
    return [path.read_bytes() for path in sorted(folder.rglob("*.ipynb"))]


def drawn_by_command(secret, out):
    """The same set as a command draws it from the same secret."""
    new = NewSet(
        out=out,
        lessons=("mixed-diagnosis",),
        class_list=invented_list(1),
        exercises=1,
        mode="graded",
    )
    generate(new, secret=ClassSecret(value=secret))
    return out


@pytest.mark.nightly
def test_the_class_secret_is_in_no_answer(desk, instructor, tmp_path):
    """Neither that of a preview, which is kept for the set, nor one on disk.

    And the set is the one that a command draws from it.
    """
    asked = {"mode": "graded", "causes": "own", "set_language": "en", "exercises": 1}
    asked |= {"name": "secret", "invented": 1, "lessons": ["mixed-diagnosis"]}
    before = instructor.end_of(instructor.begin("preview", **asked))
    assert before["result"]["text"]
    made = instructor.do("generate", goes_on=before["id"], **asked)
    secret = read_class_secret(
        desk[2] / made["set"] / "for-instructor" / "class-secret.txt", None
    ).value
    folder = desk[2] / made["set"]
    assert workbooks(folder) == workbooks(drawn_by_command(secret, tmp_path / "again"))
    instructor.api("GET", f"sets/{made['set']}")
    instructor.api("GET", "work")
    said = b"".join(instructor.answers)
    forms = (secret.hex().encode(), base64.b64encode(secret), secret)
    assert not any(form in said for form in forms)
    shutil.rmtree(desk[2] / made["set"])


@pytest.mark.nightly
def test_a_dropped_list_is_read_by_its_columns(instructor):
    """Also where the school calls them otherwise, in the encoding of its program."""
    rows = "Nummer;Nachname;Vorname\n7;Müller;Jörg\n8;Dorn;Bo\n"
    upload = instructor.upload("Klasse.CSV", rows.encode("cp1252"))
    sample = instructor.do("look-at-list", upload=upload)
    assert sample["columns"] == ["Nummer", "Nachname", "Vorname"]
    columns = {"id": 0, "family": 1, "given": 2}
    asked = {"mode": "graded", "causes": "own", "set_language": "en", "exercises": 1}
    asked |= {"name": "list", "lessons": ["mixed-diagnosis"], "columns": columns}
    shown = instructor.do("preview", upload=upload, **asked)
    assert [one["name"] for one in shown["students"]] == ["Jörg Müller", "Bo Dorn"]
