"""The server gives out a site's files and nothing else, by http or https."""

import gzip
import http.client
import mimetypes
import os
import re
import socket
import subprocess
import sys
import threading
from contextlib import ExitStack, contextmanager
from urllib.parse import urlsplit

import pytest

from generator.errors import SiteError
from generator.serving.certificate import reached_at
from generator.serving.packed import PackedFiles
from generator.serving.web import Place, address_of, new_server

LOOPBACK = "127.0.0.1"


@pytest.fixture
def site(tmp_path):
    """A folder with a file of each kind that browsers are strict about."""
    folder = tmp_path / "site"
    (folder / "files").mkdir(parents=True)
    for name in ("start.js", "python.mjs", "python.wasm", "files/page.ipynb"):
        (folder / name).write_text("x", encoding="utf-8")
    return folder


@contextmanager
def running(site, certificate=None, host=LOOPBACK):
    """Run a server on a free port."""
    place = Place(host=host, port=0, certificate=certificate)
    with new_server(site, place) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield server
        server.shutdown()


def asked(connection, path):
    """The answer to a request, read to its end."""
    connection.request("GET", path)
    answer = connection.getresponse()
    answer.read()
    return answer


def test_types_are_right_whatever_the_machine_says(site, monkeypatch):
    """A type that a program left in the registry of Windows changes nothing."""
    monkeypatch.setattr(mimetypes, "guess_type", lambda *_: ("text/plain", None))
    with running(site) as server:
        connection = http.client.HTTPConnection(LOOPBACK, server.server_port)
        found = {
            name: asked(connection, f"/{name}").getheader("Content-Type")
            for name in ("start.js", "python.mjs", "python.wasm", "files/page.ipynb")
        }
        connection.close()
    assert found == {
        "start.js": "text/javascript; charset=utf-8",
        "python.mjs": "text/javascript; charset=utf-8",
        "python.wasm": "application/wasm",
        "files/page.ipynb": "application/json",
    }


def answered(connection, path, **headers):
    """The answer to a request, and its body."""
    names = {name.replace("_", "-"): value for name, value in headers.items()}
    connection.request("GET", path, headers=names)
    answer = connection.getresponse()
    return answer, answer.read()


def test_text_goes_packed_to_who_takes_it_and_again_only_when_changed(site):
    """In gzip where asked for, as it is elsewhere, and not at all where it is known."""
    page, text = site / "page.html", b"<p>a long page</p>" * 500
    page.write_bytes(text)
    (site / "python.whl").write_bytes(text)
    with running(site) as server:
        connection = http.client.HTTPConnection(LOOPBACK, server.server_port)
        packed, body = answered(connection, "/page.html", Accept_Encoding="br, gzip")
        assert packed.getheader("Content-Encoding") == "gzip"
        assert packed.getheader("Vary") == "Accept-Encoding"
        assert gzip.decompress(body) == text
        assert len(body) < len(text) / 10
        plain, body = answered(connection, "/page.html")
        assert (plain.getheader("Content-Encoding"), body) == (None, text)
        archive, body = answered(connection, "/python.whl", Accept_Encoding="gzip")
        assert (archive.getheader("Content-Encoding"), body) == (None, text)
        mark = packed.getheader("ETag")
        known, body = answered(connection, "/page.html", If_None_Match=mark)
        assert (known.status, body, known.getheader("ETag")) == (304, b"", mark)
        page.write_bytes(text + b"new")
        changed, body = answered(connection, "/page.html", If_None_Match=mark)
        assert (changed.status, body) == (200, text + b"new")
        connection.close()


@pytest.mark.parametrize("path", ["/", "/files/", "/nothing", "/../set.toml"])
def test_folders_are_not_listed(path, site):
    """A folder without a page of its own, and what is outside, is not found."""
    (site.parent / "set.toml").write_text("x", encoding="utf-8")
    with running(site) as server:
        connection = http.client.HTTPConnection(LOOPBACK, server.server_port)
        answer = asked(connection, path)
        connection.close()
    assert answer.status == 404
    assert answer.getheader("Referrer-Policy") == "no-referrer"


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("localhost", 200),
        ("LOCALHOST:1", 200),
        ("127.0.0.1:8460", 200),
        ("[::1]:8460", 200),
        (socket.gethostname(), 200),
        ("attacker.example", 421),
        ("127.0.0.1.attacker.example:8460", 421),
        ("localhost@attacker.example", 421),
        ("[", 421),
        ("", 421),
    ],
)
def test_only_names_of_this_machine_are_answered(host, status, site):
    """A page elsewhere whose name is made to lead here reads nothing (rebinding)."""
    with running(site) as server:
        connection = http.client.HTTPConnection(LOOPBACK, server.server_port)
        connection.request("GET", "/start.js", headers={"Host": host})
        answer = connection.getresponse()
        assert answer.status == status
        assert (answer.read() == b"x") == (status == 200)
        connection.close()


def test_address_that_is_printed_is_answered(site):
    """What students of a class network open, as the links say it."""
    place = Place(host="0.0.0.0", port=0)
    with running(site, host=place.host) as server:
        name = urlsplit(address_of(server, place)).netloc
        connection = http.client.HTTPConnection(LOOPBACK, server.server_port)
        connection.request("GET", "/start.js", headers={"Host": name})
        assert connection.getresponse().status == 200
        connection.close()


def test_no_other_site_frames_a_page_or_gets_anything_from_one(site):
    """The policy for what a page loads stands on every answer.

    Scripts that are written in a page run by their hash (Content Security Policy Level
    3, 6.7.3.3); the one of "x" was found by OpenSSL.
    """
    (site / "page.html").write_text("<script>x</script>", encoding="utf-8")
    with running(site) as server:
        connection = http.client.HTTPConnection(LOOPBACK, server.server_port)
        for path in ("/start.js", "/nothing"):
            policy = asked(connection, path).getheader("Content-Security-Policy")
            rules = dict(rule.split(" ", 1) for rule in policy.split("; "))
            assert rules["frame-ancestors"] == "'none'"
            digest = "LXEWQrcmsEQBYnyp+6wy9chTD7GQPMTbAiWHF5IaSIE="
            assert f"'sha256-{digest}'" in rules["script-src"].split()
            assert "'unsafe-inline'" not in rules["script-src"]
            assert rules["default-src"] == "'self'"
            assert not re.search("https?:|[*]", policy)
        connection.close()


def test_certificate_that_is_none_is_refused(site, tmp_path):
    """The error names both files and what to do."""
    text = tmp_path / "text.pem"
    text.write_text("no certificate", encoding="utf-8")
    with pytest.raises(SiteError, match=r"text\.pem.*Name a certificate"):
        new_server(site, Place(host=LOOPBACK, port=0, certificate=(text, text)))


def test_port_that_is_taken_is_refused(site):
    """A second server on a port says so, and what to do."""
    with running(site) as server, pytest.raises(SiteError, match="another --port"):
        new_server(site, Place(host=LOOPBACK, port=server.server_port))


def test_class_that_comes_in_one_moment_is_let_in(site):
    """Nobody is turned away while the server is at something else.

    Before it serves anything, as here, whoever does not fit into its queue waits.
    """
    with new_server(site, Place(host=LOOPBACK, port=0)) as server, ExitStack() as all_:
        for _ in range(100):
            address = LOOPBACK, server.server_port
            all_.enter_context(socket.create_connection(address, timeout=5))


def test_file_of_many_names_is_kept_once(site):
    """Where capitals do not matter, a script could ask for thousands of each file."""
    files = PackedFiles()
    (site / "page.js").write_bytes(b"0123456789" * 500)
    (site / "PAGE.js").hardlink_to(site / "page.js")
    assert files.of(site / "PAGE.js") is files.of(site / "page.js")


@pytest.mark.parametrize(
    "head",
    [
        "GET /start.js HTTP/1.1\r\nContent-Length: {size}",
        "HEAD /start.js HTTP/1.1\r\nContent-Length: {size}",
        "POST /readings/x HTTP/1.1\r\nTransfer-Encoding: chunked",
        "POST /readings/x HTTP/1.1\r\nContent-Length: 0\r\nContent-Length: {size}",
        "POST /readings/x HTTP/1.1\r\nContent-Length : {size}",
        "POST /readings/x HTTP/1.1\r\nX\r\nContent-Length: {size}",
    ],
)
def test_nothing_is_hidden_behind_a_request(head, site):
    """A proxy that shares its connections would give the answer to somebody else."""
    hidden = f"GET /python.mjs HTTP/1.1\r\nHost: {LOOPBACK}\r\n\r\n"
    asked = f"{head}\r\nHost: {LOOPBACK}\r\n\r\n{hidden}".format(size=len(hidden))
    with running(site) as server:
        place = LOOPBACK, server.server_port
        with socket.create_connection(place, timeout=20) as plug:
            plug.sendall(asked.encode())
            found = plug.makefile("rb").read()
    assert found.startswith(b"HTTP/1.1 400")
    assert found.count(b"HTTP/1.1 ") == 1


_FEW = """
import resource, sys
from pathlib import Path
from generator.serving.web import Place, new_server
_, most = resource.getrlimit(resource.RLIMIT_NOFILE)
resource.setrlimit(resource.RLIMIT_NOFILE, (40, most))
with new_server(Path(sys.argv[1]), Place(host="127.0.0.1", port=0)) as server:
    print(server.server_port, flush=True)
    server.serve_forever()
"""


@pytest.mark.skipif(os.name != "posix", reason="other systems have no such limit")
def test_class_is_served_where_a_program_begins_with_few_files(site):
    """Each connection is one: as many as the system allows, not as it begins with."""
    command = [sys.executable, "-c", _FEW, str(site)]
    with (
        subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process,
        ExitStack() as all_,
    ):
        all_.callback(process.kill)
        port = int(process.stdout.readline())
        for _ in range(60):
            connection = http.client.HTTPConnection(LOOPBACK, port, timeout=20)
            all_.callback(connection.close)
            assert asked(connection, "/start.js").status == 200


def test_address_of_all_interfaces_is_one_that_others_can_open():
    """Nobody can open 0.0.0.0; a single address stands for itself."""
    assert reached_at("0.0.0.0") not in {"0.0.0.0", ""}
    assert reached_at("10.1.2.3") == "10.1.2.3"
