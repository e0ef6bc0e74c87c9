"""The room answers on the web: a student by code, the supervisor by token."""

import gc
import http.client
import json
import socket
import threading
from contextlib import contextmanager

import pytest

from generator.errors import RoomError
from generator.serving.room_service import services_of
from generator.serving.web import Place, new_server
from tests.examining.conftest import drawn_examination, hall  # noqa: F401 - fixtures
from tests.examining.desk_work import choice_of, predictions

LOOPBACK = "127.0.0.1"


@contextmanager
def served(hall, site):  # noqa: F811
    """The room on a free port, and its supervisor's token."""
    site.mkdir(exist_ok=True)
    services, path = services_of(hall.room, site / "token.txt", "de")
    with new_server(site, Place(host=LOOPBACK, port=0), services) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield server.server_port, path.partition("#")[2]
        server.shutdown()


@pytest.fixture
def port_and_token(hall, tmp_path):  # noqa: F811
    """A room that is served."""
    with served(hall, tmp_path / "site") as both:
        yield both


def asked(port, method, path, body=None, **headers):
    """Status and body of an answer."""
    connection = http.client.HTTPConnection(LOOPBACK, port, timeout=20)
    names = {name.replace("_", "-"): value for name, value in headers.items()}
    connection.request(method, path, body, names)
    answer = connection.getresponse()
    found = answer.status, answer.read()
    connection.close()
    return found


@pytest.fixture(autouse=True)
def unfrozen():
    """What is kept out of the way of a room's answers is looked through again."""
    yield
    gc.unfreeze()


def test_room_is_ready_before_anybody_asks(hall, tmp_path):  # noqa: F811
    """A class comes all at once: every record is read by then, or its fault told."""
    page = hall.page()
    page.record(*predictions(hall.record())).send(hall.exchange())
    hall.open()
    services_of(hall.room, tmp_path / "token.txt", "en")
    first, second = hall.room.seats.values()
    assert (len(first.record.lines), len(second.record.lines)) == (len(page.lines), 0)
    assert gc.get_freeze_count() > 0
    [written] = hall.room.folder.glob("journal-*.jsonl")
    written.write_bytes(written.read_bytes().replace(b'"exercise":1', b'"exercise":2'))
    hall.open()
    with pytest.raises(RoomError, match="was changed after it was written"):
        services_of(hall.room, tmp_path / "token.txt", "en")


def test_student_gets_a_reading_by_code(hall, port_and_token):  # noqa: F811
    """And nothing by another code, by a look, or by no request at all."""
    port, _ = port_and_token
    record, code = hall.record(), hall.codes["s01"]
    test = record.planned[0]
    page = hall.page().record(*predictions(record), choice_of(record, test))
    status, body = asked(port, "POST", f"/readings/{code}", page.body())
    assert status == 200
    [reading] = json.loads(body)["readings"]
    assert reading["display"] == record.test(test).display
    assert asked(port, "GET", f"/readings/{code}")[0] == 404
    assert asked(port, "POST", f"/readings/{'0' * 32}", page.body())[0] == 404
    other = hall.codes["s02"]
    assert asked(port, "POST", f"/readings/{other}", page.body())[0] == 400
    assert asked(port, "POST", f"/readings/{code}", b"{}")[0] == 400
    assert asked(port, "POST", "/files/", page.body())[0] == 404
    elsewhere = asked(port, "POST", f"/readings/{code}", page.body(), Host="x.example")
    assert elsewhere[0] == 404


@pytest.mark.parametrize("length", ["400001", "99999999999", "-1", "many"])
def test_more_than_a_journal_is_not_even_read(hall, port_and_token, length):  # noqa: F811
    """The answer comes before the body does."""
    port, _ = port_and_token
    with socket.create_connection((LOOPBACK, port), timeout=20) as plug:
        head = f"POST /readings/{hall.codes['s01']} HTTP/1.1\r\nHost: {LOOPBACK}\r\n"
        plug.sendall(f"{head}Content-Length: {length}\r\n\r\n".encode())
        assert plug.recv(100).startswith(b"HTTP/1.1 413")


@pytest.mark.nightly
def test_slow_visitor_holds_nobody_up(hall, port_and_token):  # noqa: F811
    """Who sends half a request and waits is one of many threads."""
    port, _ = port_and_token
    head = f"POST /readings/{hall.codes['s01']} HTTP/1.1\r\nHost: {LOOPBACK}\r\n"
    plugs = [socket.create_connection((LOOPBACK, port)) for _ in range(50)]
    for plug in plugs:
        plug.sendall(f"{head}Content-Length: 1000\r\n\r\n{{".encode())
    body = hall.page("s02").body()
    assert asked(port, "POST", f"/readings/{hall.codes['s02']}", body)[0] == 200
    for plug in plugs:
        plug.close()


def test_full_disk_is_told_to_the_page(hall, port_and_token, monkeypatch):  # noqa: F811
    """It keeps its lines and asks again."""
    port, _ = port_and_token

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("generator.examining.work_record.append_whole", full)
    page = hall.page().record(*predictions(hall.record()))
    path = f"/readings/{hall.codes['s01']}"
    assert asked(port, "POST", path, page.body())[0] == 503


def test_supervisor_needs_the_token(hall, port_and_token):  # noqa: F811
    """The page itself tells nothing; state, deeds and protocol do."""
    port, token = port_and_token
    status, page = asked(port, "GET", "/room/")
    assert status == 200
    assert b"s01" not in page
    deed = json.dumps({"do": "pause"})
    for method, path, body in (
        ("GET", "/room/state", None),
        ("GET", "/room/protocol", None),
        ("POST", "/room/do", deed),
    ):
        wrong = asked(port, method, path, body, Authorization=f"Bearer {'0' * 32}")
        assert asked(port, method, path, body)[0] == wrong[0] == 403
    assert hall.room.phase() == "running"
    mine = {"Authorization": f"Bearer {token}"}
    status, body = asked(port, "POST", "/room/do", deed, **mine)
    assert (status, json.loads(body)["phase"]) == (200, "paused")
    assert [s["student"] for s in json.loads(body)["seats"]] == ["s01", "s02"]
    for nonsense in ('{"do": "dance"}', '{"do": "more", "student": "s99"}', "{"):
        assert asked(port, "POST", "/room/do", nonsense, **mine)[0] == 400
    assert asked(port, "GET", "/room/protocol", **mine)[0] == 200
    assert asked(port, "GET", "/room/../set.toml", **mine)[0] == 404
