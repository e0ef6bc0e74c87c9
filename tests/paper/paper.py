"""The paper of a small class, made when a test first asks for it."""

from dataclasses import dataclass
from functools import cache
from typing import Any

from generator.paper.handouts import handout_text
from generator.paper.slips import reading_codes, slips_of, slips_text
from generator.workbooks.class_workbooks import records_of
from generator.workbooks.workbook import Workbook
from tests.drawn import SECRET, plain_workbooks
from workbook.texts import speaking


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A workbook, its key records, the codes of its readings, handout and slips."""

    workbook: Workbook
    records: list[Any]
    codes: dict[Any, str]
    handout: str
    slips: str


@cache
def paper(mode, language="en"):
    """The paper of a class's first student."""
    workbook = plain_workbooks(mode)[0]
    with speaking(language):
        records = records_of(workbook)
        codes = reading_codes(SECRET.value, records)
        return Paper(
            workbook=workbook,
            records=records,
            codes=codes,
            handout=handout_text(workbook, codes),
            slips=slips_text(workbook.set_id, slips_of(workbook), codes),
        )
