"""Print how fast a room answers: python -m tests.bench.room [STUDENTS].

All students open their connections over TLS at once, as a class that is let in; then
each is paced, with a request every 4 s or so, while a supervisor looks on. A student's
journal grows by a line each time, and the room writes it to the disk before it answers.
Beside the clock, which tells what else this machine is at, stands what the room worked.
"""

import http.client
import json
import random
import ssl
import statistics
import sys
import threading
import time
from contextlib import ExitStack, closing
from pathlib import Path
from tempfile import TemporaryDirectory

import psutil

from generator.serving.certificate import self_made_certificate
from generator.sets.class_set import open_key
from generator.site.students import private_links
from tests.examining.desk_work import Page, whole_work
from tests.serving.test_many_students import HOST, Machine, Wall, write_class
from workbook.record.journal import Owner

PAUSE_S, LOOK_S = 4.0, 3.0


class Student:
    """A student with all that their page sends step by step."""

    def __init__(self, code, bodies, chance, new_connection):
        self.code, self.bodies, self.chance = code, bodies, chance
        self.connection = new_connection()

    def open(self, times):
        """Connect."""
        begun = time.perf_counter()
        self.connection.connect()
        times.append(time.perf_counter() - begun)

    def work(self, times):
        """Send everything, with pauses."""
        time.sleep(self.chance.uniform(0, PAUSE_S))
        for body in self.bodies:
            begun = time.perf_counter()
            self.connection.request("POST", f"/readings/{self.code}", body)
            answer = self.connection.getresponse()
            reply = json.loads(answer.read())
            times.append(time.perf_counter() - begun)
            assert answer.status == 200, reply
            time.sleep(self.chance.uniform(0.5, 1.5) * PAUSE_S)
        self.connection.close()


def bodies_of(folder, owner, record):
    """What a page sends step by step, as bytes, whole journal each time."""
    page = Page(folder, owner, Wall())
    for group in whole_work(record):
        for entry in group:
            page.record(entry)
            yield page.body()


def students_of(made, top, new_connection):
    """All students of a set, with what they will have done."""
    secret, key = open_key(made)
    for number, link in enumerate(private_links(made, secret)):
        folder = top / link.student
        folder.mkdir()
        owner = Owner(set_id=made.set_id, student=link.student, edition=1)
        record = key.of_student(link.student)[1]
        bodies = list(bodies_of(folder, owner, record))
        yield Student(link.code, bodies, random.Random(number), new_connection)


def together(calls):
    """Make all calls at once, a thread each."""
    threads = [threading.Thread(target=call, args=more) for call, *more in calls]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def look_on(connection, token, ended):
    """Ask for the state of the room as the supervisor's page does."""
    headers = {"Authorization": f"Bearer {token}"}
    while not ended.wait(LOOK_S):
        connection.request("GET", "/room/state", headers=headers)
        assert len(connection.getresponse().read()) > 0


def main(count):
    """Draw a class, pace it, print how long answers took."""
    with TemporaryDirectory() as name, ExitStack() as all_:
        top = Path(name)
        made = write_class(top / "set", count)
        pair = self_made_certificate(top, HOST)
        (top / "site").mkdir()
        machine = Machine(made.folder, top / "site", (pair.certificate, pair.key))
        context = ssl.create_default_context(cafile=pair.authority)

        def new_connection():
            asked = http.client.HTTPSConnection(
                HOST, machine.port, timeout=60, context=context
            )
            return all_.enter_context(closing(asked))

        students = list(students_of(made, top, new_connection))
        token = (made.secret_file.parent / "token.txt").read_text().strip()
        ended, opening, times = threading.Event(), [], []
        eyes = threading.Thread(target=look_on, args=(new_connection(), token, ended))
        eyes.start()
        together((one.open, opening) for one in students)
        before = worked_s(machine.pid)
        together((one.work, times) for one in students)
        spent = worked_s(machine.pid) - before
        ended.set()
        eyes.join()
        machine.kill()
    middle, late = statistics.median(times), sorted(times)[int(0.99 * len(times))]
    print(
        f"room, {count} students paced, {len(times)} requests: "
        f"p50 {1e3 * middle:.1f} ms, p99 {1e3 * late:.1f} ms; "
        f"{1e3 * spent / len(times):.2f} ms of processor each; "
        f"all at once, the last is in after {max(opening):.1f} s"
    )


def worked_s(pid):
    """Seconds of processor that a process has had."""
    return sum(psutil.Process(pid).cpu_times()[:2])


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
