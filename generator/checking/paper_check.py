"""Checks a class set on paper: handouts and slips hold what they should, no more."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import unescape
from itertools import accumulate
from pathlib import Path
from unicodedata import normalize

from answer_keys.keys.answer_key import AnswerKey
from answer_keys.own_command import extra_hint, typed
from generator.checking.leaks import Forbidden, forbidden_strings, leaks_in_page
from generator.paper.handouts import handout_text
from generator.paper.slips import Place, Slip, reading_codes, slips_of, slips_text
from generator.sets.class_set import ClassSet
from generator.sets.paper_parts import PaperPart, paper_parts
from generator.workbooks.workbook import Workbook
from workbook.texts import speaking

_UNSEEN = re.compile(r"<style>.*?</style>|<!--.*?-->|<[^>]*>", re.DOTALL)
_WORD = re.compile(r"\w+(?:[.,]\d+)*")
# What stands in a PDF's text for a hyphen and the end of its line; the hyphen itself
# where a list goes on.
_BROKEN = re.compile("(\\w+)(?:\ufffe|-\r?\n)")
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
    # WeasyPrint writes its own name and the page's title, and nothing else.
    allowed = {
        "Title": re.escape(unescape(title[1]) if title else ""),
        "Producer": r"WeasyPrint [\w.]+",
    }
    for name, text in metadata.items():
        if name not in allowed or not re.fullmatch(allowed[name], text):
            yield f"says in its metadata {name}: {text}"


def _strange_words(texts: list[str], page: str) -> Iterator[str]:
    numbers = {str(number) for number in range(1, len(texts) + 1)}
    said = _words(unescape(_UNSEEN.sub(" ", page)))
    # The printer numbers the sheets: these stand in no line of the page.
    strange = set(_words("\n".join(texts))) - set(said) - numbers
    strange -= _joined(strange, said) | _halves(said, texts)
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
        # Joined as a reader of a PDF may join them, but never two numbers to a third.
        are_digits = parts[-1][-1:].isdigit() and word[0].isdigit()
        parts += [" ", word] if are_digits else [word]
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


def _halves(said: list[str], texts: list[str]) -> set[str]:
    """Tell what halves there are of words of the page that a line's end breaks.

    The second half may stand far from the first, in another column or sheet.
    """
    whole, text = set(said), "\n".join(texts)
    ends, words = set(_BROKEN.findall(text)), set(_words(text))
    pairs = [(end, word) for end in ends for word in words if end + word in whole]
    return {half for pair in pairs for half in pair}


def _words(text: str) -> list[str]:
    """Words and numbers; a line that breaks behind a hyphen makes no new word."""
    return _WORD.findall(normalize("NFKC", text))


_CHANGED = (
    "is not what its secret gives: write it again with '{command}', or the file, the "
    "lesson or the software has changed"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperCheck:
    """Checks the paper that was made of a class; goes to other processes whole.

    Attributes
    ----------
    secret : bytes
        The class secret.
    codes : mapping or None
        Of all readings; None where there is no paper, which is made by choice.
    """

    class_set: ClassSet
    secret: bytes
    codes: Mapping[Place, str] | None

    @classmethod
    def of(cls, class_set: ClassSet, secret: bytes, key: AnswerKey) -> PaperCheck:
        """Check the paper of a class set, if it has any."""
        slips = (part.slips_file for part in paper_parts(class_set))
        students = class_set.request.students
        handouts = (class_set.handout_file(student.id) for student in students)
        is_there = any(
            path.exists() or path.with_suffix(".pdf").exists()
            for path in (*slips, *handouts)
        )
        codes = reading_codes(secret, key.exercises) if is_there else None
        return cls(class_set=class_set, secret=secret, codes=codes)

    def checked(
        self, workbook: Workbook, forbidden: Forbidden
    ) -> tuple[dict[Path, list[str]], tuple[Slip, ...]]:
        """Check one student's handout: no answer, no reading, nothing in its PDF.

        Returns
        -------
        tuple of dict and tuple
            What is wrong, by file, and the slips that there are.
        """
        if self.codes is None:
            return {}, ()
        with speaking(self.class_set.request.language):
            slips = tuple(slips_of(workbook))
            # The key may have lost an exercise, which is told elsewhere.
            if not self.codes.keys() >= {slip.place for slip in slips}:
                return {}, slips
            path = self.class_set.handout_file(workbook.student)
            text = handout_text(workbook, self.codes)
        return _problems(path, text, forbidden), slips

    def of_part(
        self, part: PaperPart, slips: Sequence[Slip], key: AnswerKey
    ) -> dict[Path, list[str]]:
        """Check the slips of some students, which go to them one by one."""
        codes = self.codes
        if codes is None or not part.slips_file.exists():
            return {}
        if not codes.keys() >= {slip.place for slip in slips}:
            return {}
        students = (student.id for student in part.students)
        records = [one for id_ in students for one in key.of_student(id_).values()]
        forbidden = forbidden_strings(self.secret, records)
        with speaking(self.class_set.request.language):
            text = slips_text(self.class_set.set_id, slips, codes, part.span)
        return _problems(part.slips_file, text, forbidden)


def _problems(path: Path, expected: str, forbidden: Forbidden) -> dict[Path, list[str]]:
    """What is wrong with a page and its PDF, of those that are there."""
    problems, printed = dict[Path, list[str]](), path.with_suffix(".pdf")
    if path.exists():
        problems[path] = _problems_of_page(path, expected, forbidden)
    if printed.exists():
        problems[printed] = problems_of_pdf(printed.read_bytes(), expected)
    return problems


def _problems_of_page(path: Path, expected: str, forbidden: Forbidden) -> list[str]:
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        return [f"cannot be read ({error})"]
    changed = [] if text == expected else [_CHANGED.format(command=typed("handouts"))]
    return [*changed, *leaks_in_page(text, forbidden)]
