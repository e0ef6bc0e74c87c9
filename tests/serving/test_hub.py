"""A JupyterHub for real: two users log in, open their own workbook and hand in."""

import http.cookiejar
import os
import re
import shutil
import subprocess
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
from contextlib import contextmanager

import pytest

from generator.sets import set_writing
from tests.absent import stop
from tests.cli.command import run
from tests.drawn import SECRET
from tests.ports import free_port

STARTS_WITHIN_S = 180.0
SERVICE = "/services/clampbook/"
FILE = '; filename="hand-in.jsonl"'
LOGIN = "/hub/login?next=%2Fservices%2Fclampbook%2F"

SETTINGS = """
c = get_config()
c.JupyterHub.authenticator_class = "dummy"
c.DummyAuthenticator.password = "a long word for this test alone"
c.Authenticator.allow_all = True
c.JupyterHub.bind_url = "http://127.0.0.1:{ports[0]}"
c.JupyterHub.hub_bind_url = "http://127.0.0.1:{ports[1]}"
c.ConfigurableHTTPProxy.api_url = "http://127.0.0.1:{ports[2]}"
c.JupyterHub.db_url = "sqlite://"
"""


@contextmanager
def hub_of(folder, tmp_path):
    """Run a hub with the lines that our command tells for its settings."""
    ports = [free_port() for _ in range(4)]
    told = run("hub", folder, code=2).stdout.replace("10460", str(ports[3]))
    ours = f'["{sys.executable}", "-c", "from generator.cli import main; main()", '
    told = told.replace("['clampbook', ", ours)
    settings = tmp_path / "jupyterhub_config.py"
    settings.write_text(SETTINGS.format(ports=ports) + told, encoding="utf-8")
    with (tmp_path / "log").open("wb") as log:
        process = subprocess.Popen(
            [sys.executable, "-m", "jupyterhub", "-f", str(settings)],
            cwd=tmp_path,
            stdout=log,
            stderr=subprocess.STDOUT,
            env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)},
        )
        try:
            address = f"http://127.0.0.1:{ports[0]}"
            wait_for(f"{address}/services/clampbook/", process, tmp_path / "log")
            yield address
        finally:
            process.terminate()
            process.wait(60)


def wait_for(address, process, log):
    """Until the service answers through the hub's proxy."""
    ends = time.monotonic() + STARTS_WITHIN_S
    while time.monotonic() < ends and process.poll() is None:
        try:
            urllib.request.urlopen(address, timeout=10).close()
            return
        except OSError:
            time.sleep(0.5)
    # What it says first tells why; then its proxy repeats that nobody answers.
    pytest.fail(f"ended with {process.poll()}:\n{log.read_text('utf-8')[:8000]}")


class User:
    """A browser without a screen: cookies, redirections and forms."""

    def __init__(self, address, name):
        self.address = address
        kept = urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
        self.opener = urllib.request.build_opener(kept)
        page = self.send(None, LOGIN)
        form = {
            "username": name,
            "password": "a long word for this test alone",
            "_xsrf": re.search(r'name="_xsrf"\s+value="([^"]+)"', page)[1],
        }
        self.start = self.send(urllib.parse.urlencode(form).encode(), LOGIN)

    def send(self, data, path=SERVICE, headers=()):
        """The answer to a form."""
        address = f"{self.address}{path}"
        request = urllib.request.Request(address, data, headers=dict(headers))
        with self.opener.open(request, timeout=60) as answer:
            return answer.read().decode()

    def get(self, path, site="same-origin"):
        """A page as its own scripts, or those of another site, ask for it."""
        told = {"Sec-Fetch-Mode": "cors", "Sec-Fetch-Site": site}
        return self.send(None, path, told.items())

    def hand_in(self, data):
        """Send the form of the start page with a file; its answer."""
        hidden = dict(re.findall(r'name="(_xsrf|set)"\s+value="([^"]+)"', self.start))
        named = [*hidden.items(), ("file", "")]
        head = "\r\n".join(
            f'--edge\r\nContent-Disposition: form-data; name="{name}"'
            f"{FILE * (name == 'file')}\r\n\r\n{value}"
            for name, value in named
        )
        body = head.encode() + data + b"\r\n--edge--\r\n"
        kind = {"Content-Type": "multipart/form-data; boundary=edge"}
        return self.send(body, headers=kind.items())


@pytest.mark.nightly
def test_users_of_a_hub_work_and_hand_in_each_for_themselves(tmp_path, monkeypatch):
    """By the login of the hub, through its proxy, with its guards."""
    if shutil.which("configurable-http-proxy") is None:
        stop("no configurable-http-proxy here: npm install configurable-http-proxy")
    roster = tmp_path / "roster.csv"
    roster.write_text("id,name,login\ns01,Ada Almer,\n7,Bea Brunner,bea\n", "utf-8")
    folder = tmp_path / "week-3"
    asked = ("--mode=graded", "--exercises=1", "--lessons=mixed-diagnosis")
    monkeypatch.setattr(set_writing, "new_class_secret", lambda: SECRET)
    run("generate", "--students", roster, *asked, "--out", folder)
    run("simulate", folder, "--kinds=novice")
    works = {
        id_: next((folder / "handed-in").glob(f"*-{id_}*")).read_bytes()
        for id_ in ("s01", "7")
    }
    shutil.rmtree(folder / "handed-in")
    with hub_of(folder, tmp_path) as address:
        ada, bea = User(address, "s01"), User(address, "bea")
        links = [
            re.search(r'href="(/services/[^"]+)"', one.start)[1] for one in (ada, bea)
        ]
        assert links[0] != links[1]
        site, _, code = links[1].partition("#")
        assert "start.js" in bea.get(site)
        listing = bea.get(f"{site}api/contents/{code}/all.json")
        assert "-7.ipynb" in listing
        with pytest.raises(urllib.error.HTTPError, match="404"):
            ada.get(f"{site}api/contents/{code}/all.json")
        assert "Handed in: " in bea.hand_in(works["7"])
        with pytest.raises(urllib.error.HTTPError, match="400"):
            bea.hand_in(works["s01"])
        with pytest.raises(urllib.error.HTTPError, match="403"):
            bea.send(b"set=x")
        with pytest.raises(urllib.error.HTTPError, match="403"):
            User(address, "mallory")
        # A script of another site is sent to log in, again and again.
        with pytest.raises(urllib.error.HTTPError, match="302"):
            bea.get(f"{site}api/contents/{code}/all.json", "cross-site")
    (kept,) = (folder / "handed-in").rglob("*.jsonl")
    assert kept.parent.name == "7"
    graded = run("grade", folder)
    assert "Graded 1 of 1 files" in graded.stderr
    assert "s01 Ada Almer" in graded.stderr
