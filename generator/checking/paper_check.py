"""Checks a class set on paper: handouts and slips hold what they should, no more."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from itertools import accumulate
from pathlib import Path
from unicodedata import normalize

from answer_keys.keys.answer_key import AnswerKey
from answer_keys.own_command import extra_hint, typed
from generator.checking.leaks import Forbidden, forbidden_strings, leaks_in_page
from generator.paper.handouts import handout_text
from generator.paper.slips import Slip, reading_codes, slips_of, slips_text
from generator.sets.class_set import ClassSet
from generator.workbooks.workbook import Workbook
from workbook.texts import speaking

_UNSEEN = re.compile(r"<style>.*?</style>|<!--.*?-->|<[^>]*>", re.DOTALL)
_WORD = re.compile(r"\w+(?:[.,]\d+)*")
# Enough to find the page; a whole wrong page would print all its words.
_MOST_WORDS = 8


def problems_of_pdf(data: bytes, page: str) -> list[str]:
    """Tell what a PDF holds that the page it was printed from does not.

    Parameters
    ----------
    data : bytes
        The PDF.
    page : str
        The HTML page, which has been searched for answers itself.

    Returns
    -------
    list of str
        Words, metadata, notes or attached files that have no business there.
    """
    try:
        import pypdfium2
    except ImportError:
        return [f"cannot be looked through here; {extra_hint('print')}"]
    try:
        pdf = pypdfium2.PdfDocument(data)
    except pypdfium2.PdfiumError as error:
        return [f"is no PDF that can be read ({error})"]
    metadata = {name: text for name, text in pdf.get_metadata_dict().items() if text}
    count = len(pdf)
    texts, notes = [], pypdfium2.raw.FPDFDoc_GetAttachmentCount(pdf)
    for number in range(count):
        sheet = pdf[number]
        notes += pypdfium2.raw.FPDFPage_GetAnnotCount(sheet)
        texts.append(sheet.get_textpage().get_text_range())
    pdf.close()
    problems = [*_strange_metadata(metadata, page), *_strange_words(texts, page)]
    if notes:
        problems.append("holds notes or attached files. Print it anew from its page.")
    return problems


def _strange_metadata(metadata: dict[str, str], page: str) -> Iterator[str]:
    title = re.search(r"<title>(.*?)</title>", page, re.DOTALL)
    allowed = {"Title": unescape(title[1]) if title else "", "Producer": "WeasyPrint"}
    for name, text in metadata.items():
        if not text.startswith(allowed.get(name, " ")) or (
            name == "Title" and text != allowed["Title"]
        ):
            yield f"says in its metadata {name}: {text}"


def _strange_words(texts: list[str], page: str) -> Iterator[str]:
    numbers = {str(number) for number in range(1, len(texts) + 1)}
    said = _words(unescape(_UNSEEN.sub(" ", page)))
    strange = set(_words("\n".join(texts))) - set(said) - numbers
    strange -= _joined(strange, said)
    if strange:
        some = ", ".join(sorted(strange)[:_MOST_WORDS])
        yield f"says what its page does not: {some}"


def _joined(strange: set[str], said: list[str]) -> set[str]:
    """Tell which are words of the page that follow one another, without a blank.

    Where texts stand close, what is read out of a PDF may lack it. Two numbers are
    never taken for one.
    """
    parts = [""]
    for word in said:
        parts += [" ", word] if _are_digits(parts[-1][-1:], word[0]) else [word]
    ends = {0, *accumulate(map(len, parts))}
    text = "".join(parts)
    return {
        word
        for word in strange
        if any(
            {found.start(), found.end()} <= ends
            for found in re.finditer(re.escape(word), text)
        )
    }


def _are_digits(one: str, other: str) -> bool:
    return one.isdigit() and other.isdigit()


def _words(text: str) -> list[str]:
    """Words and numbers; a line that breaks behind a hyphen makes no new word."""
    return _WORD.findall(normalize("NFKC", text))


_CHANGED = (
    "is not what its secret gives: write it again with '{command}', or the file, the "
    "lesson or the software has changed"
)


class PaperCheck:
    """Takes the workbooks of a class, and checks the paper that was made of them.

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
        self._codes = reading_codes(secret, key.exercises)
        self._slips: list[Slip] = []

    def take(self, workbook: Workbook, forbidden: Forbidden) -> None:
        """Check one student's handout: no answer, no reading, nothing in its PDF."""
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
            forbidden = forbidden_strings(self._secret, list(self._key.exercises))
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
