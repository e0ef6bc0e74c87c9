"""A printed page looked through: a PDF says what its page says, and nothing else."""

from __future__ import annotations

import re
from html import unescape
from itertools import accumulate
from typing import TYPE_CHECKING
from unicodedata import normalize

from answer_keys.own_command import extra_hint

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["problems_of_pdf"]

_UNSEEN = re.compile(r"<style>.*?</style>|<!--.*?-->|<[^>]*>", re.DOTALL)
_WORD = re.compile(r"\w+(?:[.,]\d+)*")
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
        problems.append("holds notes or attached files; allowed are none")
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
