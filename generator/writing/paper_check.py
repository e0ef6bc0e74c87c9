"""Checks a class set on paper: handouts and slips hold what they should, no more."""

from __future__ import annotations

from typing import TYPE_CHECKING

from answer_keys.own_command import typed
from generator.writing.handouts import handout_text
from generator.writing.leaks import forbidden_strings, leaks_in_page
from generator.writing.printed import problems_of_pdf
from generator.writing.reading_codes import reading_codes
from generator.writing.reading_slips import Slip, slips_of, slips_text
from workbook.texts import speaking

if TYPE_CHECKING:
    from pathlib import Path

    from answer_keys.answer_key import AnswerKey
    from generator.writing.class_set import ClassSet
    from generator.writing.leaks import Forbidden
    from generator.writing.workbooks import Workbook

__all__ = ["PaperCheck"]

_CHANGED = (
    "is not what its secret gives: write it again with '{command}', or the file, the "
    "lesson or the software has changed"
)


class PaperCheck:
    """Takes the workbooks of a class, and checks the paper that was made of them.

    Parameters
    ----------
    class_set : ClassSet
    secret : bytes
    key : AnswerKey

    Attributes
    ----------
    problems : dict of Path to list of str
        By file, of what is there: paper is made by choice.
    """

    def __init__(self, class_set: ClassSet, secret: bytes, key: AnswerKey) -> None:
        self.problems: dict[Path, list[str]] = {}
        self._class_set = class_set
        self._secret = secret
        self._key = key
        self._codes = reading_codes(secret, key.content)
        self._slips: list[Slip] = []

    def take(self, workbook: Workbook, forbidden: Forbidden) -> None:
        """Check one student's handout: no answer, no reading, nothing in its PDF.

        The workbook is as its student reads it.
        """
        with speaking(self._class_set.request.language):
            slips = slips_of(workbook)
            self._slips += slips
            path = self._class_set.handout_file(workbook.student)
            # The key may have lost an exercise, which is told elsewhere.
            if self._codes.keys() >= {slip.place for slip in slips}:
                self._check(path, handout_text(workbook, self._codes), forbidden)

    def finish(self) -> None:
        """Check the slips, which go to students one by one."""
        path = self._class_set.slips_file
        if path.exists() and self._codes.keys() >= {s.place for s in self._slips}:
            forbidden = forbidden_strings(self._secret, list(self._key.content))
            with speaking(self._class_set.request.language):
                text = slips_text(self._class_set.set_id, self._slips, self._codes)
            self._check(path, text, forbidden)

    def _check(self, path: Path, expected: str, forbidden: Forbidden) -> None:
        if path.exists():
            self.problems[path] = _problems_of_page(path, expected, forbidden)
        printed = path.with_suffix(".pdf")
        if printed.exists():
            self.problems[printed] = problems_of_pdf(printed.read_bytes(), expected)


def _problems_of_page(path: Path, expected: str, forbidden: Forbidden) -> list[str]:
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        return [f"cannot be read ({error})"]
    changed = [] if text == expected else [_CHANGED.format(command=typed("handouts"))]
    return [*changed, *leaks_in_page(text, forbidden)]
