"""A printed page looked through: a PDF says what its page says, and nothing else."""

from __future__ import annotations

import re
from base64 import b64decode
from html import unescape
from typing import TYPE_CHECKING
from unicodedata import normalize

from answer_keys.own_command import extra_hint

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["problems_of_pdf"]

_PICTURE = re.compile(r"data:image/svg\+xml;base64,([\w+/=]+)")
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
    strange = _words("\n".join(texts)) - _words(_text_of(page)) - numbers
    if strange:
        some = ", ".join(sorted(strange)[:_MOST_WORDS])
        yield f"says what its page does not: {some}"


def _text_of(page: str) -> str:
    """Everything that can be read on a page, labels of its pictures included."""
    pictures = (b64decode(data).decode() for data in _PICTURE.findall(page))
    return unescape(re.sub(r"<[^>]*>", " ", "\n".join([page, *pictures])))


def _words(text: str) -> set[str]:
    """Words and numbers; a line that breaks behind a hyphen makes no new word."""
    return set(_WORD.findall(normalize("NFKC", text)))
