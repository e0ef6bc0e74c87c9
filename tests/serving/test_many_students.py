"""A class works in its room over TLS, with kills, reloads and cut networks."""

import http.client
import json
import os
import random
import signal
import ssl
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from answer_keys.keys.sealing import write_sealed_key
from generator.drawing.request import Request
from generator.serving.certificate import self_made_certificate
from generator.sets.class_set import open_key, read_class_set
from generator.sets.roster import invented_roster
from generator.sets.set_writing import write_class_set
from generator.site.students import private_links
from generator.week.marking import grade
from generator.week.opened import opened_set
from tests.drawn import SECRET
from tests.examining.desk_work import Page, whole_work
from tests.ports import free_port
from workbook.record.journal import Owner, hand_in_bytes

HOST = "127.0.0.1"
STUDENTS = int(os.environ.get("ROOM_STUDENTS", "200"))
KILLS, DRAWN = 3, 4
# Serves a room alone, as the command does with a site.
SERVER = """
import sys
from pathlib import Path
from generator.serving.room_service import services_of
from generator.serving.web import Place, new_server
from generator.week.examination import room_of
from generator.week.opened import opened_set
folder, port, site = Path(sys.argv[1]), int(sys.argv[2]), Path(sys.argv[3])
pair = tuple(map(Path, sys.argv[4:6])) if len(sys.argv) > 4 else None
room = room_of(opened_set(folder))
if room.phase() == "waiting":
    room.start()
services, _ = services_of(room, folder / "for-instructor" / "token.txt", "en")
place = Place(host="127.0.0.1", port=port, certificate=pair)
with new_server(site, place, services) as server:
    print("ready", flush=True)
    server.serve_forever()
"""


class Machine:
    """The instructor's machine, which can be killed and started again."""

    def __init__(self, folder, site, pair=()):
        self.port = free_port()
        self._command = [sys.executable, "-c", SERVER, folder, self.port, site, *pair]
        self.start()

    def start(self):
        """Start, and come back when it answers."""
        words = [str(word) for word in self._command]
        self._process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
        assert self._process.stdout.readline() == "ready\n"

    @property
    def pid(self):
        """Of its process."""
        return self._process.pid

    def kill(self):
        """Kill it as a power cut does."""
        self._process.send_signal(signal.SIGKILL)
        self._process.wait()
        self._process.stdout.close()


def write_class(folder, count):
    """Write an examination of so many students: a few are drawn, for all in turn."""
    few = invented_roster(DRAWN)
    asked = Request(
        lessons=("high-load-current",),
        students=few,
        exercises=1,
        mode="examination",
    )
    made = write_class_set(folder, asked, secret=SECRET)
    secret, key = open_key(made)
    students = invented_roster(count)
    turn = {one.id: few[n % DRAWN].id for n, one in enumerate(students)}
    whole = replace(
        key,
        packed={own: key.packed[drawn] for own, drawn in turn.items()},
        readings={own: key.readings[drawn] for own, drawn in turn.items()},
    )
    write_sealed_key(made.key_file, secret, whole)
    rows = "".join(f"{one.id},{one.name}\n" for one in students)
    (folder / "for-instructor" / "roster.csv").write_text(f"id,name\n{rows}", "utf-8")
    return read_class_set(folder)


@pytest.fixture(scope="module")
def class_set(tmp_path_factory):
    """An examination of a whole class."""
    return write_class(tmp_path_factory.mktemp("class") / "set", STUDENTS)


class Student:
    """A student who works along the plan, whatever the network does."""

    def __init__(self, folder, machine, context, code, use):
        self.machine, self.context, self.code = machine, context, code
        set_id, student, self.record, seed = use
        self.folder, self.chance = folder, random.Random(seed)
        self.owner = Owner(set_id=set_id, student=student, edition=1)
        self.page, self.readings, self.tries = None, {}, 0
        self.times = []

    def opened(self):
        """Open the page anew: another session of the same folder."""
        self.page = Page(self.folder, self.owner, Wall())
        return self.page

    def exchange(self, *, is_cut=False):
        """Ask until there is an answer; a cut network swallows it once."""
        sessions = {}
        for path in self.folder.glob("journal-*.jsonl"):
            lines = path.read_text("utf-8").split("\n")[:-1]
            sessions[path.stem[-8:]] = {"at": 0, "lines": lines}
        sent = {"window": "abcdef", "sessions": sessions, "held": []}
        body = json.dumps(sent)
        while True:
            self.tries += 1
            try:
                begun = time.perf_counter()
                reply = self._asked(body, is_cut=is_cut)
                self.times.append(time.perf_counter() - begun)
                break
            except (OSError, http.client.HTTPException):
                is_cut = False
                time.sleep(0.05)
        assert reply["phase"] == "running"
        for one in reply["readings"]:
            self.readings[one["item"]] = one["display"]

    def _asked(self, body, *, is_cut):
        connection = http.client.HTTPSConnection(
            HOST, self.machine.port, timeout=20, context=self.context
        )
        try:
            connection.request("POST", f"/readings/{self.code}", body)
            if is_cut:
                raise OSError("the network was cut before the answer came")
            answer = connection.getresponse()
            data = answer.read()
            assert answer.status == 200, data
            return json.loads(data)
        finally:
            connection.close()

    def work(self):
        """Do the whole exercise."""
        self.opened()
        for group in whole_work(self.record):
            self.page.record(*group)
            self.exchange(is_cut=self.chance.random() < 0.2)
            if self.chance.random() < 0.2:
                self.opened()
        return self


class Wall:
    """The clock on the wall, which no test moves."""

    def __call__(self):
        return datetime.now(UTC)

    def ahead(self, minutes):
        """Time goes by itself."""


# Python's ssl leaves a socket to the collector where a server dies between accepting a
# connection and the handshake.
@pytest.mark.filterwarnings(
    "ignore:Exception ignored in. <ssl.SSLSocket"
    ":pytest.PytestUnraisableExceptionWarning"
)
@pytest.mark.nightly
def test_class_loses_nothing(class_set, tmp_path, record_property):
    """Journals are equal on both sides, and marks equal to those of the files."""
    secret, key = open_key(class_set)
    pair = self_made_certificate(tmp_path, HOST)
    context = ssl.create_default_context(cafile=pair.authority)
    site = tmp_path / "site"
    site.mkdir()
    machine = Machine(class_set.folder, site, (pair.certificate, pair.key))
    students = []
    for number, link in enumerate(private_links(class_set, secret)):
        folder = tmp_path / link.student
        folder.mkdir()
        record = key.of_student(link.student)[1]
        use = class_set.set_id, link.student, record, number
        students.append(Student(folder, machine, context, link.code, use))
    with ThreadPoolExecutor(20) as pool:
        working = [pool.submit(student.work) for student in students]
        for _ in range(KILLS):
            time.sleep(1.5)
            machine.kill()
            machine.start()
        for one in working:
            one.result(timeout=500)
    machine.kill()
    for student in students:
        wanted = {t: student.record.test(t).display for t in student.record.planned}
        assert student.readings == wanted
        name = student.owner.name
        here = {p.name: p.read_bytes() for p in student.folder.glob("journal-*.jsonl")}
        there = class_set.examination.glob(f"journal-{name}-*.jsonl")
        assert {path.name: path.read_bytes() for path in there} == here
    from_room = grade(opened_set(class_set.folder)).result
    _only_files(class_set, students)
    from_files = grade(opened_set(class_set.folder)).result
    marks = [
        [
            [(s.step, s.mark) for s in e.marks.steps]
            for one in r.students
            for e in one.exercises
        ]
        for r in (from_room, from_files)
    ]
    assert marks[0] == marks[1]
    assert all(one.file is not None for one in from_room.students)
    record_property("tries", sum(student.tries for student in students))


def _only_files(class_set, students):
    """Take away what the room has written, and hand in each student's own file."""
    for folder in (class_set.examination, class_set.handed_in / "examination"):
        for path in folder.iterdir():
            path.unlink()
    (class_set.results / "gradebook.sqlite").unlink()
    for student in students:
        paths = sorted(student.folder.glob("journal-*.jsonl"))
        lines = [x for p in paths for x in p.read_text("utf-8").split("\n")[:-1]]
        data = hand_in_bytes(student.owner, "examination", lines)
        (class_set.handed_in / f"{student.owner.name}.jsonl").write_bytes(data)
