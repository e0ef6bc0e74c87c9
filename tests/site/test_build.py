"""A site holds a private folder a student, and never takes another folder's place."""

import csv
import json

import pytest

from generator.drawing.request import Request, Student
from generator.errors import SiteError
from generator.sets.class_set import open_key
from generator.sets.set_writing import write_class_set
from generator.site import build
from generator.site.build import write_site
from generator.site.links import Link, links_csv, site_address
from generator.site.students import private_links
from tests.drawn import SECRET

NAMES = ("ada", "bruno")


@pytest.fixture(scope="module")
def class_set(tmp_path_factory):
    """A set of two students."""
    request = Request(
        lessons=("mixed-diagnosis",),
        students=tuple(Student(id=name, name=name.title()) for name in NAMES),
        exercises=1,
        mode="graded",
    )
    return write_class_set(
        tmp_path_factory.mktemp("sites") / "SET", request, secret=SECRET
    )


@pytest.fixture
def secret(class_set):
    """Its class secret."""
    return open_key(class_set)[0]


@pytest.fixture
def written(class_set, secret, tmp_path, monkeypatch):
    """Its site, on a shared part that is only the folders."""
    shared = tmp_path / "shared"
    for name in ("files", "api/contents"):
        (shared / name).mkdir(parents=True)
    monkeypatch.setattr(build, "shared_part", lambda _: shared)
    links = write_site(class_set, secret, tmp_path / "site")
    return tmp_path / "site", links


def test_links_are_the_same_again_and_told_by_nothing_else(class_set, secret):
    """The codes hang on the secret: 128 bits, another for each student."""
    links = private_links(class_set, secret)
    assert links == private_links(class_set, secret)
    codes = [link.code for link in links]
    assert len(set(codes)) == len(NAMES)
    assert all(len(code) == 32 and int(code, 16) >= 0 for code in codes)
    assert not [code for code in codes if class_set.set_id in code]


def test_each_folder_is_listed_only_by_itself(written):
    """The listing of a student's folder names the one workbook that lies in it."""
    site, links = written
    for link in links:
        path = site / "api" / "contents" / link.code / "all.json"
        (entry,) = json.loads(path.read_text("utf-8"))["content"]
        file = site / "files" / entry["path"]
        assert file.parent.name == link.code
        assert entry["size"] == file.stat().st_size
        assert [each.name for each in file.parent.iterdir()] == [link.file]


def test_workbook_of_the_site_is_that_of_the_set_but_for_its_kernel(class_set, written):
    """The browser's Python has another name; nothing else is changed."""
    site, (link, _) = written
    made = json.loads((site / "files" / link.code / link.file).read_text("utf-8"))
    own = json.loads(class_set.workbook_file(NAMES[0]).read_text("utf-8"))
    assert made["metadata"]["kernelspec"].pop("name") == "python"
    assert own["metadata"]["kernelspec"].pop("name") == "python3"
    assert made == own


def test_student_adds_less_than_300_kb(written):
    """A class of a hundred stays small."""
    site, links = written
    sizes = [path.stat().st_size for path in site.rglob("*") if path.is_file()]
    assert sum(sizes) / len(links) < 300_000


def test_older_site_is_replaced_and_anything_else_refused(class_set, secret, written):
    """A folder of the instructor's own is never overwritten."""
    site, links = written
    (site / "files" / "old").mkdir()
    assert write_site(class_set, secret, site) == links
    assert not (site / "files" / "old").exists()
    with pytest.raises(SiteError, match=r"is no site of ours\. Choose"):
        write_site(class_set, secret, class_set.folder)
    assert class_set.secret_file.is_file()


def test_links_are_no_formulas():
    """A name of the class list runs nothing in a spreadsheet."""
    name = '=HYPERLINK("https://x.example","Ada")'
    own = [Link(student="@ada", name=name, address="https://x.example/#1")]
    lines = links_csv(own).decode("utf-8-sig").splitlines()
    _, (student, told, _) = csv.reader(lines)
    assert (student, told) == ("'@ada", f"'{name}")


@pytest.mark.parametrize("separator", [",", ";"])
def test_links_are_written_for_a_spreadsheet(separator, class_set, secret):
    """One line a student, with the whole address, for commas or semicolons."""
    links = private_links(class_set, secret)
    own = [it.at("https://x.example/") for it in links]
    head, first, _ = links_csv(own, separator).decode("utf-8-sig").splitlines()
    assert head.split(separator) == ["id", "name", "link"]
    address = f"https://x.example/#{links[0].code}"
    assert first.split(separator) == ["ada", "Ada", address]


@pytest.mark.parametrize("text", ["", "class.example", "ftp://x.example", "https://["])
def test_what_no_student_could_open_is_no_address(text):
    """The instructor is told what to write."""
    with pytest.raises(SiteError, match="is no address"):
        site_address(text)


def test_address_where_no_answer_is_kept_is_refused():
    """Browsers keep nothing on plain http, but for this machine's own pages."""
    with pytest.raises(SiteError, match="keep no answers on plain http"):
        site_address("http://class.example")
    assert site_address("http://127.0.0.1:8460/") == "http://127.0.0.1:8460"
