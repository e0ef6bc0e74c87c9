"""An examination of two students, drawn once, and a room of its own for each test."""

import shutil

import pytest

from generator.examining.room import Room
from generator.sets.class_set import open_key, read_class_set
from generator.sets.roster import invented_roster
from generator.site.students import private_links
from generator.week.class_list import ClassList
from generator.week.new_set import NewSet, generate
from tests.drawn import SECRET
from tests.examining.desk_work import Clock, Page
from workbook.record.journal import Owner


@pytest.fixture(scope="session")
def drawn_examination(tmp_path_factory):
    """A set on disk that no test changes."""
    folder = tmp_path_factory.mktemp("examination") / "set"
    listed = ClassList(students=invented_roster(2), school_class=None)
    new = NewSet(
        out=folder,
        lessons=("high-load-current",),
        class_list=listed,
        exercises=2,
        mode="examination",
        causes="same",
    )
    return generate(new, secret=SECRET).class_set.folder


class Hall:
    """A room with its set, its clock, and students at their pages."""

    def __init__(self, folder, desks):
        self.folder, self.desks = folder, desks
        self.class_set = read_class_set(folder)
        self.secret, self.key = open_key(self.class_set)
        self.clock = Clock()
        links = private_links(self.class_set, self.secret)
        self.codes = {link.student: link.code for link in links}
        self.open()

    def open(self):
        """Open the room, or open it again after the machine went down."""
        students = {one.id: one.name for one in self.class_set.request.students}
        codes = {code: (id_, students[id_]) for id_, code in self.codes.items()}
        folder = self.class_set.examination
        self.room = None  # a machine that went down holds no room open
        self.room = Room(folder, codes, self.secret, self.key, self.clock)

    def page(self, student="s01"):
        """A new page of a student, in a folder of its own."""
        folder = self.desks / f"{student}-{len(list(self.desks.iterdir()))}"
        folder.mkdir()
        owner = Owner(set_id=self.key.set_id, student=student, edition=1)
        return Page(folder, owner, self.clock)

    def exchange(self, student="s01"):
        """What a student's page sends to."""
        return lambda body: self.room.exchange(self.codes[student], body)

    def record(self, student="s01", number=1):
        """The key's record of an exercise."""
        return self.key.of_student(student)[number]


@pytest.fixture
def hall(drawn_examination, tmp_path):
    """A room that runs."""
    folder = tmp_path / "set"
    shutil.copytree(drawn_examination, folder)
    desks = tmp_path / "desks"
    desks.mkdir()
    made = Hall(folder, desks)
    made.room.start()
    return made
