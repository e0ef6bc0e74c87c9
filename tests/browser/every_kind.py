"""A practice set that has every kind of field, and exercises in every state."""

import json
import re
import shutil

import pytest

from generator.drawing.request import Request, Student
from generator.questions.asked import KIND_TITLES
from generator.sets import set_writing
from generator.sets.set_writing import write_class_set
from lessons.loader import LESSONS_FOLDER
from tests.drawn import SECRET

KINDS = tuple(KIND_TITLES)
GIVEN = 1  # partly done for the student
FIRST, SECOND = len(KINDS) + 2, len(KINDS) + 3  # diagnoses that are left to the student
EXERCISES = SECOND
_STARTS_FROM = "low-load-current"


def write_every_kind(parent, students):
    """Write it, of a lesson of its own, into a folder; gives the set."""
    folder = parent / "every-kind"
    shutil.copytree(LESSONS_FOLDER / _STARTS_FROM, folder)
    text = (folder / "lesson.toml").read_text(encoding="utf-8")
    kinds = json.dumps(["diagnosis", *KINDS, "diagnosis", "diagnosis"])
    for line, new in (
        (r"id = .*", 'id = "every-kind"'),
        (r"number = .*", "number = 1"),  # nothing comes before it
        (r"kinds = .*", f"kinds = {kinds}"),
    ):
        text = re.sub(f"(?m)^{line}$", new, text, count=1)
    (folder / "lesson.toml").write_text(text, encoding="utf-8")
    request = Request(
        lessons=(str(folder),),
        students=tuple(Student(id=name, name=name.title()) for name in students),
        exercises=EXERCISES,
        mode="practice",
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(set_writing, "new_class_secret", lambda: SECRET)
        return write_class_set(parent / "KINDS", request)
