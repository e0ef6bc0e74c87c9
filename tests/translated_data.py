"""Texts that are translated where they are shown, though no code marks them."""

from typing import get_args

from generator.model.sections import Branch
from lessons.loader import lesson_ids, read_lesson
from workbook.cautions import CAUTIONS
from workbook.statements import State


def data_texts():
    """Every such text, with the module that holds it."""
    yield from (("workbook/cautions.py", text) for text in CAUTIONS)
    yield from (("workbook/statements.py", text) for text in get_args(State))
    yield from (("generator/model/sections.py", text) for text in get_args(Branch))
    yield from _of_lessons()


def _of_lessons():
    for name in lesson_ids():
        lesson = read_lesson(name).lesson
        for text in (lesson.title, *lesson.aims):
            yield f"lessons/{name}/lesson.toml", text
