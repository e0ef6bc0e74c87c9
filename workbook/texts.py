"""The language in which a student is spoken to.

English stands in the code; each other language is one gettext catalogue below
``locale/``. A kernel opens one workbook, so the language is one for the process.
"""

from __future__ import annotations

import gettext
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

DOMAIN = "clampbook"
LOCALE = Path(__file__).parent / "locale"
ENGLISH = "en"
# The decimal mark of each language there is.
_MARKS = {ENGLISH: ".", "de": ","}
LANGUAGES = tuple(_MARKS)
_DECIMAL_POINT = re.compile(r"(?<=[0-9])\.(?=[0-9])")

_SENTENCE_END = re.compile(r"(?<=[.?!:]) (?=[A-Z])")

_language = ENGLISH
_catalogue = gettext.NullTranslations()


def use(language: str) -> None:
    """Speak a language from now on; English where it is not one of `LANGUAGES`."""
    global _language, _catalogue
    _language = language if language in _MARKS else ENGLISH
    _catalogue = catalogue_of(_language)


def catalogue_of(language: str) -> gettext.NullTranslations:
    """Return what a language says of each text, whatever language is spoken.

    Examples
    --------
    >>> catalogue_of("de").gettext("expected")
    'wie erwartet'
    """
    # Names no language: then there is no catalogue, and the source is what is said.
    names = [] if language == ENGLISH else [language]
    return gettext.translation(DOMAIN, LOCALE, names, fallback=not names)


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Speak a language for a while."""
    before = _language
    use(language)
    try:
        yield
    finally:
        use(before)


def language() -> str:
    """Return the language spoken, as the attribute ``lang`` of a page names it."""
    return _language


def _(text: str) -> str:
    """Translate a text; what stands in braces is filled in afterwards."""
    return _catalogue.gettext(text) if text else ""


def sentences(text: str) -> list[str]:
    """Take a text apart into the sentences that are translated one by one.

    Examples
    --------
    >>> sentences("The output test runs. The load fuse is out.")
    ['The output test runs.', 'The load fuse is out.']
    """
    return _SENTENCE_END.split(text)


def translated(text: str) -> str:
    """Translate a text sentence by sentence, so that each is translated once."""
    return " ".join(_(sentence) for sentence in sentences(text))


def ngettext(one: str, many: str, count: int) -> str:
    """Translate a text that says how many there are."""
    return _catalogue.ngettext(one, many, count)


def later(text: str) -> str:
    """Mark a text that is translated where it is used."""
    return text


def has_own_mark() -> bool:
    """Whether the decimal mark of the language is another than the point of the code.

    Examples
    --------
    >>> has_own_mark()
    False
    """
    return _MARKS[_language] != "."


def decimal(text: str) -> str:
    """Write the numbers of a text with the decimal mark of the language.

    Examples
    --------
    >>> with speaking("de"):
    ...     decimal("12.5 A.")
    '12,5 A.'
    """
    return _DECIMAL_POINT.sub(_MARKS[_language], text) if has_own_mark() else text


def capital(text: str) -> str:
    """Begin a text with a capital letter."""
    return text[:1].upper() + text[1:]


def list_separator() -> str:
    """Return what spreadsheets of the language take columns apart at.

    Examples
    --------
    >>> list_separator()
    ','
    """
    return ";" if _MARKS[_language] == "," else ","


def grouped(value: int) -> str:
    """Write a whole number with the mark of the language between its thousands.

    Examples
    --------
    >>> grouped(20000)
    '20,000'
    """
    between = "." if _MARKS[_language] == "," else ","
    return f"{value:,}".replace(",", between)


def figure(value: float) -> str:
    """Write a number as short as it can be.

    Examples
    --------
    >>> figure(4.0), figure(2.5)
    ('4', '2.5')
    """
    return decimal(f"{value:g}")
