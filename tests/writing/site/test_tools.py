"""What a site is built of is fetched whole, or the reason is told."""

import os
import shutil
import sys
import time

import pytest

from generator.writing.errors import SiteError
from generator.writing.site import tools


@pytest.fixture(autouse=True)
def cache(tmp_path, monkeypatch):
    """A cache with nothing in it."""
    monkeypatch.setattr(tools, "cache_folder", lambda: tmp_path / "cache")
    return tmp_path / "cache"


def test_missing_node_is_told_before_anything_is_fetched(cache, monkeypatch):
    """Without Node.js the error names both programs, and nothing is left behind."""
    monkeypatch.setattr(shutil, "which", lambda _: None)
    with pytest.raises(SiteError, match=r"node and npm.*Install Node\.js"):
        tools.fetched()
    assert list(cache.iterdir()) == []


def test_program_that_fails_is_told_with_its_last_words(tmp_path):
    """Where a step cannot be done, what it said and what to look at stand together."""
    code = "import sys; sys.exit('no route to host')"
    with pytest.raises(SiteError, match=r"(?s)^Fetching failed.*doctor.*no route"):
        tools.run([sys.executable, "-c", code], tmp_path, "Fetching")


def test_program_that_is_not_there_is_told(tmp_path):
    """The step is named."""
    with pytest.raises(SiteError, match=r"^Fetching: "):
        tools.run([tmp_path / "nothing"], tmp_path, "Fetching")


def test_folder_is_made_whole_or_not_at_all(tmp_path):
    """What fails midway leaves no folder; what is there is not made again."""
    folder = tmp_path / "parts" / "made"

    def fail(draft):
        (draft / "half").touch()
        raise SiteError("no network")

    with pytest.raises(SiteError):
        tools.once(folder, fail)
    assert list(folder.parent.iterdir()) == []
    tools.once(folder, lambda draft: (draft / "whole").touch())
    assert tools.once(folder, fail) == folder
    assert [path.name for path in folder.iterdir()] == ["whole"]


def test_parts_of_older_versions_are_removed(cache):
    """The last two of a kind stay, and no draft of a run that was killed a day ago."""
    for name, age_s in (("shared-1", 30), ("shared-2", 20), ("fetched-1", 40)):
        (cache / name).mkdir(parents=True)
        _age(cache / name, age_s)
    for name, age_s in ((".part-old", 90_000), (".part-now", 10)):
        (cache / name).mkdir()
        _age(cache / name, age_s)
    tools.once(cache / "shared-3", lambda _: None)
    kept = {"shared-2", "shared-3", "fetched-1", ".part-now"}
    assert {path.name for path in cache.iterdir()} == kept


def _age(path, age_s):
    moment = time.time() - age_s
    os.utime(path, (moment, moment))
