"""The room works behind a school's own https server, by the recipe that we give."""

import http.client
import json
import shutil
import ssl
import subprocess
import threading
import time
from pathlib import Path

import pytest

from generator.serving import web
from generator.serving.certificate import self_made_certificate
from generator.serving.room_service import services_of
from generator.serving.web import Place, new_server
from tests.absent import stop
from tests.examining.conftest import drawn_examination, hall  # noqa: F401 - fixtures
from tests.examining.desk_work import choice_of, predictions
from tests.ports import free_port

HOST = "127.0.0.1"
RECIPE = Path(web.__file__).parent / "behind-nginx.conf"
# What Debian's own file has around it, with folders that a test may write.
AROUND = """
daemon off;
worker_processes 1;
pid {folder}/nginx.pid;
error_log {folder}/error.log;
events {{}}
http {{
  client_body_temp_path {folder}/body;
  proxy_temp_path {folder}/proxy;
  fastcgi_temp_path {folder}/fastcgi;
  uwsgi_temp_path {folder}/uwsgi;
  scgi_temp_path {folder}/scgi;
  include {recipe};
}}
"""


@pytest.fixture
def proxied(hall, tmp_path):  # noqa: F811
    """The port of an nginx before the room, and what a student's machine trusts."""
    program = shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")
    if program is None:
        stop("no nginx on this computer")
    site, port = tmp_path / "site", free_port()
    site.mkdir()
    (site / "index.html").write_text("<p>start page</p>", "utf-8")
    services, path = services_of(hall.room, tmp_path / "token.txt", "en")
    with new_server(site, Place(host=HOST, port=0), services) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        pair = self_made_certificate(tmp_path, HOST)
        recipe = RECIPE.read_text("utf-8")
        for old, new in (
            ("listen 443", f"listen {HOST}:{port}"),
            ("/etc/ssl/class.school.example.pem", str(pair.certificate)),
            ("/etc/ssl/private/class.school.example.key", str(pair.key)),
            ("127.0.0.1:8460;", f"127.0.0.1:{server.server_port};"),
        ):
            assert old in recipe
            recipe = recipe.replace(old, new)
        (tmp_path / "recipe.conf").write_text(recipe, "utf-8")
        around = AROUND.format(folder=tmp_path, recipe=tmp_path / "recipe.conf")
        (tmp_path / "nginx.conf").write_text(around, "utf-8")
        words = [program, "-p", tmp_path, "-c", tmp_path / "nginx.conf"]
        process = subprocess.Popen([str(word) for word in words])
        context = ssl.create_default_context(cafile=pair.authority)
        _wait_for(port, context)
        yield port, context, path.partition("#")[2]
        process.terminate()
        process.wait()
        server.shutdown()


def asked(port, context, method, path, body=None, **headers):
    """Status and body of an answer."""
    connection = http.client.HTTPSConnection(HOST, port, timeout=20, context=context)
    headers["Host"] = "class.school.example"
    connection.request(method, path, body, headers)
    answer = connection.getresponse()
    found = answer.status, answer.read()
    connection.close()
    return found


def _wait_for(port, context):
    deadline = time.monotonic() + 20
    while True:
        try:
            asked(port, context, "GET", "/")
            return
        except OSError:
            assert time.monotonic() < deadline, "nginx does not answer"
            time.sleep(0.1)


@pytest.mark.nightly
def test_readings_come_through_the_schools_server(hall, proxied):  # noqa: F811
    """By its certificate and under its name; the supervisor gets in, too."""
    port, context, token = proxied
    record = hall.record()
    test = record.planned[0]
    page = hall.page().record(*predictions(record), choice_of(record, test))
    path = f"/readings/{hall.codes['s01']}"
    status, body = asked(port, context, "POST", path, page.body())
    assert status == 200
    [reading] = json.loads(body)["readings"]
    assert reading["display"] == record.test(test).display
    assert asked(port, context, "POST", path, b" " * 500_000)[0] == 413
    assert asked(port, context, "GET", "/")[1] == b"<p>start page</p>"
    mine = {"Authorization": f"Bearer {token}"}
    assert asked(port, context, "GET", "/room/state", **mine)[0] == 200
    assert asked(port, context, "GET", "/room/state")[0] == 403
