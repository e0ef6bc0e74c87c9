"""A site whose writing is killed at any moment: under its name one of both is whole."""

import shutil

import pytest

from generator.drawing.request import Request, Student
from generator.errors import SiteError
from generator.sets.class_set import open_key
from generator.sets.set_writing import write_class_set
from generator.site import build
from generator.site.build import write_site
from tests.cli.command import files_below
from tests.drawn import SECRET
from tests.killed import changes_of, kill, places

WRITE = """
from pathlib import Path
from generator.sets.class_set import open_key, read_class_set
from generator.site import build
build.shared_part = lambda _: Path({shared!r})
made = read_class_set(Path({class_set!r}))
build.write_site(made, open_key(made)[0], Path({site!r}))
"""


@pytest.fixture(scope="module")
def class_set(tmp_path_factory):
    """A set of two students."""
    request = Request(
        lessons=("mixed-diagnosis",),
        students=tuple(Student(id=name, name=name) for name in ("ada", "bruno")),
        exercises=1,
        mode="graded",
    )
    return write_class_set(
        tmp_path_factory.mktemp("killed") / "SET", request, secret=SECRET
    )


@pytest.fixture
def shared(tmp_path):
    """The part that all students share, of an older and of a new version."""
    for version in ("older", "newer"):
        for name in ("files", "api/contents"):
            (tmp_path / version / name).mkdir(parents=True)
        (tmp_path / version / "version.txt").write_text(version, encoding="utf-8")
        (tmp_path / version / f"{version}.txt").touch()
    return tmp_path


@pytest.mark.nightly
def test_site_is_whole_whenever_its_writing_is_killed(
    class_set, shared, tmp_path, monkeypatch
):
    """The older or the new one; or none, and the next run puts the older one back."""
    secret = open_key(class_set)[0]
    whole = {}
    for version in ("older", "newer"):
        monkeypatch.setattr(build, "shared_part", lambda _, v=version: shared / v)
        write_site(class_set, secret, tmp_path / f"whole {version}")
        whole[version] = files_below(tmp_path / f"whole {version}")
    place = tmp_path / "place"
    site = place / "site"
    names = {"class_set": str(class_set.folder), "site": str(site)}
    code = WRITE.format(shared=str(shared / "newer"), **names)

    def begin():
        shutil.rmtree(place, ignore_errors=True)
        shutil.copytree(tmp_path / "whole older", site)

    begin()
    seen = set()
    for at in places(changes_of(code, place)):
        begin()
        kill(code, place, at)
        is_there = site.exists()
        seen.add(is_there)
        if is_there:
            assert files_below(site) in whole.values(), at
        monkeypatch.setattr(build, "shared_part", _cannot_be_built)
        with pytest.raises(SiteError):
            write_site(class_set, secret, site)
        assert files_below(site) in whole.values(), at
        assert list(place.iterdir()) == [site], at
        monkeypatch.setattr(build, "shared_part", lambda _: shared / "newer")
        write_site(class_set, secret, site)
        assert files_below(site) == whole["newer"], at
        assert list(place.iterdir()) == [site], at
    # Between the renamings there was none: the repair was seen, too.
    assert seen == {True, False}


def _cannot_be_built(_):
    raise SiteError("no network")
