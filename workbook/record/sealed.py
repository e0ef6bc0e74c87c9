"""Seal a workbook's readings into one line of text, and open it again.

Sealing is base64 text of zlib of UTF-8 JSON. It keeps readings from being seen at a
glance in the notebook. It does **not** hide anything from a reader who is determined:
there is no key, and this module opens every seal. So a graded set's seal must hold
nothing but the readings and the words offered: no fault, no explanation, no check.
"""

from __future__ import annotations

import base64
import binascii
import json
import zlib
from collections.abc import Mapping
from typing import Any

from workbook.errors import SealError
from workbook.texts import _

MAX_TEXT = 4_000_000
MAX_JSON = 16_000_000


def seal(payload: Mapping[str, Any]) -> str:
    """Seal a payload; the same payload always gives the same text.

    Parameters
    ----------
    payload : mapping
        JSON values only.

    Returns
    -------
    str
        ASCII letters, digits, ``+``, ``/`` and ``=``.

    Examples
    --------
    >>> unseal(seal({"format": 1, "exercises": []}))
    {'exercises': [], 'format': 1}
    """
    text = json.dumps(
        payload,
        ensure_ascii=False,
        allow_nan=False,
        sort_keys=True,
        separators=(",", ":"),
    )
    return base64.b64encode(zlib.compress(text.encode())).decode("ascii")


def unseal(text: str) -> dict[str, Any]:
    """Open what `seal` has sealed.

    Parameters
    ----------
    text : str
        At most `MAX_TEXT` characters, which may open to at most `MAX_JSON` bytes.

    Returns
    -------
    dict
        The payload, of format 1.

    Raises
    ------
    SealError
        When the text is damaged, too large, or of another format.
    """
    if len(text) > MAX_TEXT:
        raise SealError(
            _("The sealed text is longer than {count} characters.").format(
                count=MAX_TEXT
            )
        )
    try:
        payload = json.loads(_decompressed(base64.b64decode(text, validate=True)))
    except (binascii.Error, zlib.error, UnicodeError, ValueError) as error:
        raise SealError(_("The sealed text is damaged.")) from error
    except RecursionError as error:
        raise SealError(_("The sealed text is nested too deep.")) from error
    if not isinstance(payload, dict) or payload.get("format") != 1:
        raise SealError(
            _("The sealed text is not of format 1, the only one known here.")
        )
    return payload


def _decompressed(packed: bytes) -> bytes:
    """Decompress no more than the limit, and refuse a stream that is cut off."""
    stream = zlib.decompressobj()
    opened = stream.decompress(packed, MAX_JSON)
    if stream.unconsumed_tail:
        raise SealError(
            _("The sealed text opens to more than {count} bytes.").format(
                count=MAX_JSON
            )
        )
    if not stream.eof:
        raise SealError(_("The sealed text is cut off."))
    return opened
