"""A real desk in a process of its own, and somebody who asks it by http."""

import json
import os
import re
import subprocess
import sys
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import quote, urlencode, urlsplit

from generator.site.tools import cache_folder

ROOT = Path(__file__).parents[2]
PROGRAM = "from generator.cli import main; main()"
SECONDS = 120


class Client:
    """Asks a desk as its page does, or as somebody else would."""

    def __init__(self, page):
        place = urlsplit(page)
        self.host, self.port = place.hostname, place.port
        self.token = place.query.removeprefix("token=")
        self.cookies = {}
        self.answers = []

    def ask(self, method, path, body=None, **headers):
        """Return status and body; cookies are kept as a browser keeps them."""
        connection = HTTPConnection(self.host, self.port, timeout=SECONDS)
        if self.cookies:
            pairs = [f"{name}={value}" for name, value in self.cookies.items()]
            headers.setdefault("Cookie", "; ".join(pairs))
        try:
            connection.request(method, path, body, headers)
            answer = connection.getresponse()
            data = answer.read()
        finally:
            connection.close()
        for cookie in answer.headers.get_all("Set-Cookie", []):
            name, _, rest = cookie.partition("=")
            self.cookies[name] = rest.split(";")[0]
        self.headers = answer.headers
        self.answers.append(data)
        return answer.status, data

    def open(self):
        """Open the page as the instructor's browser does."""
        status, _ = self.ask("GET", f"/desk?token={self.token}")
        assert status == 200
        return self

    def api(self, method, path, value=None, body=None):
        """Ask as the page does, with what only the page knows; gives what it gets."""
        data = json.dumps(value) if value is not None else body
        xsrf = self.cookies["_xsrf"]
        status, told = self.ask(
            method, f"/desk/api/{path}", data, **{"X-XSRFToken": xsrf}
        )
        return status, json.loads(told or b"{}")

    def upload(self, name, data):
        """Drop a file on the page; gives its id."""
        status, told = self.api(
            "POST", f"uploads?{urlencode({'name': name})}", body=data
        )
        assert status == 200, told
        return told["it"]["upload"]

    def begin(self, work, set_name="", **asked):
        """Begin work; gives the job."""
        value = {"work": work, "set": set_name, "asked": asked}
        status, told = self.api("POST", "work", value)
        assert status == 200, told
        return told["it"]

    def job(self, job_id):
        """How far a job is."""
        return self.api("GET", f"work/{job_id}")[1]["it"]

    def end_of(self, job):
        """Wait for the end of a job."""
        while job["state"] in ("waiting", "working"):
            job = self.job(job["id"])
        return job

    def do(self, work, set_name="", **asked):
        """Do work to its end; gives its result."""
        job = self.end_of(self.begin(work, set_name, **asked))
        assert job["state"] == "done", job
        return job["result"]

    def shown(self, set_name, place, **headers):
        """Ask for a page that was written of a set."""
        return self.ask("GET", f"/desk/shown/{quote(set_name)}/{place}", **headers)


def environment(home):
    """The surroundings of a user who has a home of their own.

    What all students of all sites share is built once on a computer.
    """
    own = {
        "HOME": str(home),
        "XDG_CACHE_HOME": str(cache_folder().parents[1]),
        "PYTHONPATH": str(ROOT),
        "PYTHONUNBUFFERED": "1",
    }
    kept = {name: os.environ[name] for name in ("PATH", "LANG") if name in os.environ}
    return kept | own


def start(sets, home, *options):
    """Start a desk; gives its process."""
    return subprocess.Popen(
        [sys.executable, "-c", PROGRAM, "desk", str(sets), "--no-browser", *options],
        stderr=subprocess.PIPE,
        text=True,
        env=environment(home),
        cwd=home,
    )


def page_of(process):
    """The address that a desk prints once it listens."""
    said = []
    for line in process.stderr:
        said.append(line)
        if found := re.search(r"http\S+", line):
            return found[0]
    raise AssertionError("".join(said))


@contextmanager
def running_desk(sets, home):
    """Run a desk of a folder; gives its process and its page."""
    with start(sets, home) as process:
        try:
            yield process, page_of(process)
        finally:
            process.terminate()
            process.communicate(timeout=SECONDS)
