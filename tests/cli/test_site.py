"""The site's commands: what they write, print and refuse."""

import csv
import stat

import pytest

from generator.commands import site as commands
from generator.errors import SiteError
from generator.site import build
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
    assert stat.S_IMODE((tmp_path / "links.csv").stat().st_mode) == 0o600
    text = (tmp_path / "links.csv").read_text("utf-8-sig")
    rows = list(csv.DictReader(text.splitlines()))
    assert told["folder"] == str(own / "site")
    assert [row["link"] for row in rows] == [each["link"] for each in told["students"]]
    codes = [row["link"].partition("https://x.example/#")[2] for row in rows]
    assert all((own / "site" / "files" / code).is_dir() for code in codes)


def test_links_of_a_german_set_have_semicolons(own, tmp_path):
    """Spreadsheets there open a table with commas in one column."""
    file = own / "set.toml"
    file.write_text(
        file.read_text("utf-8").replace('language = "en"', 'language = "de"')
    )
    run("site", own, "--links", tmp_path / "l.csv", "--address", "https://x.example")
    assert (tmp_path / "l.csv").read_text("utf-8-sig").startswith("id;name;link\n")


def test_links_without_an_address_are_refused(own, tmp_path):
    """They would begin with nothing that a student can open."""
    error = error_of("site", own, "--links", tmp_path / "links.csv", code=2)
    assert "--links needs --address" in error
    assert not (tmp_path / "links.csv").exists()
    assert not (own / "site").exists()


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


@pytest.mark.parametrize(
    "more",
    [("--host", "0.0.0.0"), ("--links", "l.csv"), ("--certificate", "c.pem", "k.pem")],
    ids=lambda more: more[0],
)
def test_jupyter_serves_no_student(more, own, tmp_path, monkeypatch):
    """A Jupyter that a class could reach would run anybody's code here."""
    monkeypatch.chdir(tmp_path)
    for name in ("c.pem", "k.pem"):
        (tmp_path / name).touch()
    monkeypatch.setattr(commands, "open_jupyter", lambda *_: pytest.fail("started"))
    error = error_of("serve", own, "--python", *more, code=2)
    assert "--python is for you at this machine only" in error
    assert not (tmp_path / "l.csv").exists()


def test_jupyter_is_opened_on_the_workbooks_and_gives_no_links(own, monkeypatch):
    """It is the instructor's own look at them: nobody is told how to get in."""
    started = []
    monkeypatch.setattr(commands, "open_jupyter", lambda *given: started.append(given))
    said = run("serve", own, "--python", "--port", "8500").stderr
    ((folder, file, *options),) = started
    assert (folder, file) == (own / "for-students", "")
    assert options == ["--ServerApp.port=8500", "--ServerApp.port_retries=0"]
    assert "Jupyter opens here for you alone" in said
    assert "http" not in said
