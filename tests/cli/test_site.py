"""The site's commands: what they write, print and refuse."""

import csv

import pytest

from generator.commands import site as commands
from generator.writing.errors import SiteError
from generator.writing.site import build
from tests.cli.command import error_of, json_of, run


@pytest.fixture(autouse=True)
def shared(tmp_path, monkeypatch):
    """A shared part that is only the folders."""
    for name in ("files", "api/contents"):
        (tmp_path / "shared" / name).mkdir(parents=True)
    monkeypatch.setattr(build, "shared_part", lambda _: tmp_path / "shared")


def test_site_is_written_with_links_for_the_class(own, tmp_path):
    """The links of the file are those of the JSON, under the address that was given."""
    asked = ("--links", tmp_path / "links.csv", "--address", "https://x.example")
    told = json_of("site", own, *asked)
    text = (tmp_path / "links.csv").read_text("utf-8-sig")
    rows = list(csv.DictReader(text.splitlines()))
    assert told["folder"] == str(own / "site")
    assert [row["link"] for row in rows] == [each["link"] for each in told["students"]]
    codes = [row["link"].partition("https://x.example/#")[2] for row in rows]
    assert all((own / "site" / "files" / code).is_dir() for code in codes)


def test_folder_that_is_no_site_is_refused(own, tmp_path):
    """It is named, and stays as it is."""
    (tmp_path / "mine").mkdir()
    assert "mine: exists already" in error_of("site", own, "--out", tmp_path / "mine")


def test_what_is_missing_is_one_error(own, monkeypatch):
    """A part that cannot be fetched ends the command without a traceback."""

    def missing(_):
        raise SiteError("a site needs npm")

    monkeypatch.setattr(build, "shared_part", missing)
    assert error_of("site", own) == "a site needs npm\n"


def test_jupyter_is_for_this_machine_only(own):
    """A Jupyter that a class could reach would run anybody's code here."""
    error = error_of("serve", own, "--python", "--host", "0.0.0.0", code=2)
    assert "--python is for this machine only" in error


def test_serving_in_jupyter_prints_the_links_and_starts_it(own, monkeypatch):
    """Each student's notebook has its link, and Notebook gets the same token."""
    started = []
    monkeypatch.setattr(commands, "open_jupyter", lambda *given: started.append(given))
    said = run("serve", own, "--python", "--port", "8500").stderr
    (folder, _, *options), token = started[0], said.split("?token=")[1].split()[0]
    assert folder == own / "for-students"
    assert f"--IdentityProvider.token={token}" in options
    assert "http://127.0.0.1:8500/notebooks/s01/clampbook-" in said
