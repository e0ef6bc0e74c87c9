"""Print how fast a room answers: python -m tests.bench.room [STUDENTS].

Students are paced, each with a request every 4 s or so, over TLS on this machine. They
send a journal that grows by a line each time, and the room writes it to the disk before
it answers.
"""

import http.client
import json
import random
import ssl
import statistics
import sys
import threading
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from generator.serving.certificate import self_made_certificate
from generator.sets.class_set import open_key
from generator.site.students import private_links
from tests.examining.desk_work import Page, whole_work
from tests.serving.test_many_students import HOST, Machine, Wall, write_class
from workbook.record.journal import Owner

PAUSE_S = 4.0


def bodies_of(folder, owner, record):
    """What a page sends step by step, as bytes, whole journal each time."""
    page = Page(folder, owner, Wall())
    for group in whole_work(record):
        for entry in group:
            page.record(entry)
            yield page.body()


def work(student, port, context, times):
    """Send everything a student has, with pauses, over one connection."""
    code, bodies, chance = student
    time.sleep(chance.uniform(0, PAUSE_S))
    connection = http.client.HTTPSConnection(HOST, port, timeout=60, context=context)
    # A page has its connection from the site's files on.
    connection.connect()
    for body in bodies:
        begun = time.perf_counter()
        connection.request("POST", f"/readings/{code}", body)
        answer = connection.getresponse()
        reply = json.loads(answer.read())
        times.append(time.perf_counter() - begun)
        assert answer.status == 200, reply
        time.sleep(chance.uniform(0.5, 1.5) * PAUSE_S)
    connection.close()


def main(count):
    """Draw a class, pace it, print how long answers took."""
    with TemporaryDirectory() as name:
        top = Path(name)
        made = write_class(top / "set", count)
        secret, key = open_key(made)
        students = []
        for number, link in enumerate(private_links(made, secret)):
            folder = top / link.student
            folder.mkdir()
            owner = Owner(set_id=made.set_id, student=link.student, edition=1)
            record = key.of_student(link.student)[1]
            bodies = list(bodies_of(folder, owner, record))
            students.append((link.code, bodies, random.Random(number)))
        pair = self_made_certificate(top, HOST)
        (top / "site").mkdir()
        machine = Machine(made.folder, top / "site", (pair.certificate, pair.key))
        context = ssl.create_default_context(cafile=pair.authority)
        times = []
        threads = [
            threading.Thread(target=work, args=(one, machine.port, context, times))
            for one in students
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        machine.kill()
    middle, late = statistics.median(times), sorted(times)[int(0.99 * len(times))]
    print(
        f"room, {count} students paced, {len(times)} requests: "
        f"p50 {1e3 * middle:.1f} ms, p99 {1e3 * late:.1f} ms"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
