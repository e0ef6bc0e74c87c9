"""What the users of a hub get: their own workbook, and nobody else's."""

import asyncio
import re
import shutil
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from urllib.parse import urlencode

import pytest
from tornado.httpclient import AsyncHTTPClient
from tornado.httpserver import HTTPServer
from tornado.netutil import bind_sockets

from generator.errors import ClassSetError
from generator.serving import hub
from generator.site import build
from generator.week.hub import hub_set
from tests.cli.command import error_of, run

PREFIX = "/services/clampbook/"


@pytest.fixture
def offered(opened, tmp_path, monkeypatch):
    """The graded set, its shared part only folders; s02 is called Bea on the hub."""
    for name in ("files", "api/contents"):
        (tmp_path / "shared" / name).mkdir(parents=True)
    monkeypatch.setattr(build, "shared_part", lambda _: tmp_path / "shared")
    first, second = opened.class_set.request.students
    students = (first, replace(second, login="Bea"))
    request = replace(opened.class_set.request, students=students)
    shutil.rmtree(opened.class_set.handed_in)
    opened.class_set.handed_in.mkdir()
    return hub_set(
        replace(opened, class_set=replace(opened.class_set, request=request))
    )


@pytest.fixture
def asked(offered, monkeypatch):
    """Ask the service for a path as somebody whom the hub has let in."""
    monkeypatch.setattr(hub._Own, "get_current_user", lambda self: self.settings["who"])
    monkeypatch.setattr(hub._Own, "check_xsrf_cookie", lambda _: None)

    async def fetched(user, path, **how):
        application = hub.new_application([offered], PREFIX)
        application.settings["who"] = user and {"name": user}
        server = HTTPServer(application)
        (socket,) = bind_sockets(0, "127.0.0.1")
        server.add_socket(socket)
        address = f"http://127.0.0.1:{socket.getsockname()[1]}{PREFIX}{path}"
        try:
            return await AsyncHTTPClient().fetch(
                address, raise_error=False, follow_redirects=False, **how
            )
        finally:
            server.stop()

    def answer(*given, **how):
        # A thread of its own: a browser's loop may run in this one.
        with ThreadPoolExecutor(1) as thread:
            return thread.submit(lambda: asyncio.run(fetched(*given, **how))).result()

    return answer


def sent(set_id, data):
    """A form with a file, as a browser sends it."""
    lines = [
        b"--edge",
        b'Content-Disposition: form-data; name="set"\r\n',
        set_id.encode(),
        b"--edge",
        b'Content-Disposition: form-data; name="file"; filename="x.jsonl"\r\n',
        data,
        b"--edge--\r\n",
    ]
    kind = {"Content-Type": "multipart/form-data; boundary=edge"}
    return {"method": "POST", "headers": kind, "body": b"\r\n".join(lines)}


def test_user_gets_a_page_with_their_own_link(asked, offered):
    """By id or by the login on the class list, in any letters."""
    for user, login in (("S01", "s01"), ("bea", "bea")):
        page = asked(user, "").body.decode()
        assert f"{PREFIX}{offered.id}/#{offered.links[login].code}" in page
        others = [one.code for name, one in offered.links.items() if name != login]
        assert not any(code in page for code in others)


def test_user_on_no_class_list_gets_nothing(asked, offered):
    """The id of somebody who has a login is no name there either."""
    for user in ("mallory", "s02"):
        found = asked(user, "")
        assert found.code == 403
        assert user in found.body.decode()
        assert asked(user, f"{offered.id}/index.html").code == 404


def test_nobody_gets_anything_without_logging_in(asked, offered):
    """The hub asks who it is first."""
    for path in ("", f"{offered.id}/index.html"):
        found = asked(None, path)
        assert found.code == 302
        assert "/hub/api/oauth2/authorize" in found.headers["Location"]


def test_own_workbook_is_given_and_no_other(asked, offered):
    """Whoever has learnt another's code has learnt nothing."""
    own, other = offered.links["s01"], offered.links["bea"]
    assert asked("s01", f"{offered.id}/files/{own.code}/{own.file}").code == 200
    listing = asked("s01", f"{offered.id}/api/contents/{own.code}/all.json")
    assert own.file in listing.body.decode()
    for place in (
        f"files/{other.code}/{other.file}",
        f"api/contents/{other.code}/all.json",
    ):
        assert asked("bea", f"{offered.id}/{place}").code == 200
        assert asked("s01", f"{offered.id}/{place}").code == 404
        assert asked("s01", f"{offered.id}/{place.upper()}").code == 404


@pytest.mark.parametrize(
    "path",
    ["../set.toml", "%2e%2e/set.toml", "files/", "..%2fset.toml", "//etc/passwd"],
)
def test_nothing_beside_the_site_is_given(path, asked, offered):
    """Neither the set's own files nor a listing."""
    assert asked("s01", f"{offered.id}/{path}").code in (403, 404)


def test_pages_have_the_headers_of_our_own_server(asked, offered):
    """They load from themselves alone."""
    page = asked("s01", f"{offered.id}/")
    assert page.code == 200
    assert page.headers["Content-Security-Policy"].startswith("default-src 'self'")
    assert asked("s01", "").headers["Referrer-Policy"] == "no-referrer"


@pytest.fixture
def works(graded_set):
    """What both students have to hand in."""
    return [
        next((graded_set / "handed-in").glob(f"*{id_}*")).read_bytes()
        for id_ in ("s01", "s02")
    ]


def test_own_work_is_kept_under_the_own_id(asked, offered, works, own):
    """Handed in again it is kept once; the page tells when it came."""
    for _ in range(2):
        assert asked("bea", "", **sent(offered.id, works[1])).code == 302
    (kept,) = (own / "handed-in").rglob("*.jsonl")
    assert kept.parent.name == "s02"
    assert kept.read_bytes() == works[1]
    page = asked("bea", "").body.decode()
    assert re.search(r"Handed in: \d{4}-\d\d-\d\d \d\d:\d\d", page)


def test_work_of_another_is_refused(asked, offered, works, own):
    """Whatever the file says: the login counts."""
    found = asked("bea", "", **sent(offered.id, works[0]))
    assert found.code == 400
    assert "This file is of another student." in found.body.decode()
    assert list((own / "handed-in").iterdir()) == []


def test_script_that_hands_in_without_end_fills_no_disk(
    asked, offered, works, own, monkeypatch
):
    """Every file is kept and compared with the next, so that there is an end."""
    monkeypatch.setattr("generator.week.hub.MAX_HAND_INS", 3)
    lines = works[0].splitlines(keepends=True)
    codes = [
        asked("s01", "", **sent(offered.id, b"".join(lines[:-left]))).code
        for left in range(1, 6)
    ]
    assert codes == [302, 302, 302, 400, 400]
    assert len(list((own / "handed-in").rglob("*.jsonl"))) == 3
    found = asked("s01", "", **sent(offered.id, works[0]))
    assert "You have handed in 3 times already" in found.body.decode()
    assert asked("bea", "", **sent(offered.id, works[1])).code == 302


def test_what_is_no_hand_in_is_refused_in_words_for_a_student(asked, offered, own):
    """The likeliest mistakes are the workbook itself and no file at all."""
    found = asked("s01", "", **sent(offered.id, b'{"cells": [], "nbformat": 4}'))
    assert "not the file that “Download my hand-in” saves" in found.body.decode()
    form = {"method": "POST", "body": urlencode({"set": offered.id})}
    assert "Choose the file first." in asked("s01", "", **form).body.decode()
    assert asked("s01", "", **sent("nosuchset", b"x")).code == 404
    assert list((own / "handed-in").iterdir()) == []


def test_examination_is_not_given_by_a_hub(opened):
    """Its readings are given one by one."""
    request = replace(opened.class_set.request, mode="examination")
    with pytest.raises(ClassSetError, match="is an examination"):
        hub_set(replace(opened, class_set=replace(opened.class_set, request=request)))


def test_command_tells_what_to_write_where_no_hub_starts_it(own, monkeypatch):
    """The lines are those that a hub takes, with the folders in them."""
    monkeypatch.delenv("JUPYTERHUB_SERVICE_URL", raising=False)
    told = run("hub", own, code=2)
    assert "A JupyterHub starts this." in told.stderr
    settings = compile(told.stdout, "jupyterhub_config.py", "exec")
    assert str(own.resolve()) in settings.co_consts or str(own.resolve()) in told.stdout


def test_command_needs_a_set():
    """As every other."""
    assert "Missing argument" in error_of("hub", code=2)
