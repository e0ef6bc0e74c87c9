"""What a site is built of is fetched whole, or the reason is told."""

import hashlib
import io
import os
import re
import shutil
import sys
import tarfile
import time
from pathlib import Path

import pytest

from generator.errors import SiteError
from generator.site import tools
from generator.site.pins import BROWSER, BUILD, CORE
from generator.site.wheels import write_wheel


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


def _packed(path, member, data):
    """Write a package as npm packs it, with one file in it."""
    info = tarfile.TarInfo(f"package/{member}")
    info.size = len(data)
    with tarfile.open(path, "w:gz") as packed:
        packed.addfile(info, io.BytesIO(data))


def test_package_that_is_not_the_published_one_is_not_used(tmp_path, monkeypatch):
    """What npm brings under a name has to have the integrity that is written here."""

    def npm(_, folder, __):
        _packed(folder / "core-1.tgz", "python.mjs", b"steal()")
        return "core-1.tgz\n"

    monkeypatch.setattr(tools, "run", npm)
    with pytest.raises(SiteError, match=r"core@1: what npm fetched is not what was"):
        tools.fetch_package(("core@1", CORE[1]), ["python.mjs"], tmp_path)
    assert list(tmp_path.iterdir()) == []
    _packed(tmp_path / "core-1.tgz", "python.mjs", b"steal()")
    found = tools.integrity_of(tmp_path / "core-1.tgz")
    tools.fetch_package(("core@1", found), ["python.mjs"], tmp_path)
    assert (tmp_path / "python.mjs").read_bytes() == b"steal()"


def test_integrity_is_that_of_its_standard(tmp_path):
    """The SHA-512 of "abc", FIPS 180-2, appendix C.1 (from memory), in base64."""
    (tmp_path / "abc").write_bytes(b"abc")
    expected = (
        "3a81oZNherrMQXNJriBBMRLm+k6JqX6iCp7u5ktV05ohkpkqJ0/BqDa6PCOj/uu9RU1EI2Q86A4q"
        "mslPpUyknw=="
    )
    assert tools.integrity_of(tmp_path / "abc") == f"sha512-{expected}"


class _Tools(tools.Fetched):
    """The tools with the Python of this test for theirs."""

    python = Path(sys.executable)


@pytest.mark.parametrize("is_same", [True, False])
def test_wheel_that_is_not_the_published_one_is_not_used(
    is_same, tmp_path, monkeypatch
):
    """pip takes a wheel with the hash that is written here, and refuses any other."""
    wheel = write_wheel(tmp_path, ("one", "1"), {"one/__init__.py": b"steal()"})
    digest = hashlib.sha256(wheel.read_bytes() if is_same else b"one").hexdigest()
    pinned = tmp_path / "pinned.txt"
    pinned.write_text(f"one==1 --hash=sha256:{digest}\n", encoding="utf-8")
    monkeypatch.setattr(tools, "BROWSER", pinned)
    for name, value in (("NO_INDEX", "1"), ("FIND_LINKS", str(tmp_path))):
        monkeypatch.setenv(f"PIP_{name}", value)
    (tmp_path / "made").mkdir()
    made = _Tools(tmp_path / "made")
    if is_same:
        tools._fetch_wheels(made)
        assert (made.wheels / wheel.name).read_bytes() == wheel.read_bytes()
    else:
        with pytest.raises(SiteError, match="DO NOT MATCH THE HASHES"):
            tools._fetch_wheels(made)


@pytest.mark.parametrize("path", [BUILD, BROWSER], ids=lambda path: path.stem)
def test_every_package_is_pinned_by_a_hash(path):
    """One release and one hash each, and nothing else in the file."""
    text = path.read_text("utf-8")
    one = r"[\w.-]+==[\w.]+ \\\n    --hash=sha256:[0-9a-f]{64}\n"
    assert re.fullmatch(f"({one})+", text)
