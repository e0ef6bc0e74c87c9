"""The desk speaks the language that was chosen, on whatever port it comes up."""

from generator.desk.settings import keep_settings, settings_of
from tests.desk.running import Client, running_desk


def test_chosen_language_is_found_by_the_next_start(tmp_path):
    """It is kept beside the sets; errors are told in it."""
    sets, home = tmp_path / "sets", tmp_path / "home"
    home.mkdir()
    with running_desk(sets, home) as (_, page):
        client = Client(page).open()
        assert client.api("GET", "settings")[1]["it"] == {}
        client.api("POST", "settings", {"language": "de"})
        client.api("POST", "settings", {"column": "Punkte"})
        status, told = client.api("GET", "sets/none")
        assert status == 422
        assert "kein Satz" in told["message"]
    with running_desk(sets, home) as (_, page):
        kept = Client(page).open().api("GET", "settings")[1]["it"]
        assert kept == {"language": "de", "column": "Punkte"}


def test_only_what_the_page_knows_is_kept(tmp_path):
    """A file that somebody has changed by hand stops no desk."""
    odd = {"language": "xx", "column": 7, "id_column": "x" * 999, "other": "y"}
    assert keep_settings(tmp_path, odd) == {}
    (tmp_path / "desk.json").write_text("[1", "utf-8")
    assert settings_of(tmp_path) == {}
    (tmp_path / "desk.json").write_text("[1]", "utf-8")
    assert settings_of(tmp_path) == {}
