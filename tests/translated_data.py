"""Texts that are translated where they are shown, though no code marks them."""

from typing import get_args

from generator.model.sections import Branch
from workbook.cautions import CAUTIONS
from workbook.statements import State


def data_texts():
    """Every such text, with the module that holds it."""
    yield from (("workbook/cautions.py", text) for text in CAUTIONS)
    yield from (("workbook/statements.py", text) for text in get_args(State))
    yield from (("generator/model/sections.py", text) for text in get_args(Branch))
