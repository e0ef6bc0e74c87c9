"""Make text from outside safe to show: what cannot be seen is written out."""

from __future__ import annotations

import unicodedata

# Control, format (bidi and zero-width), surrogate, private, unassigned, separators.
_HIDDEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
_JOINERS = "\u200c\u200d"


def has_hidden_characters(text: str) -> bool:
    """Tell whether a text holds hidden characters, or such as turn others around."""
    # What Python calls printable has none of them, and is told much faster.
    return not text.isprintable() and any(
        unicodedata.category(each) in _HIDDEN for each in text
    )


def visible(text: str, limit: int = 300) -> str:
    r"""Write hidden characters out as escapes and cut what is too long.

    Examples
    --------
    >>> visible("12\u202e5 A")
    '12\\u202e5 A'
    """
    if len(text) <= limit and text.isprintable():
        return text
    shown = "".join(
        _escape(each) if unicodedata.category(each) in _HIDDEN else each
        for each in text[:limit]
    )
    return shown + "…" if len(text) > limit else shown


def name_text(name: str) -> str:
    r"""Write a name without hidden characters, save the joiners some scripts need.

    Examples
    --------
    >>> name_text(" Mira\u202e\x07 Aldeen")
    'Mira Aldeen'
    """
    kept = (
        each
        for each in unicodedata.normalize("NFC", name)
        if each in _JOINERS or unicodedata.category(each) not in _HIDDEN
    )
    return "".join(kept).strip()


def _escape(character: str) -> str:
    number = ord(character)
    return f"\\u{number:04x}" if number < 0x10000 else f"\\U{number:08x}"
