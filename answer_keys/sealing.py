"""Seal the answer key: authenticated encryption under the class secret.

Three small parts: `KeyCipher` (the algorithm), `Envelope` (the readable text around
the sealed bytes), and `write_sealed_key` / `read_sealed_key` (the file).

References
----------
RFC 8439 (ChaCha20 and Poly1305), RFC 5869 (HKDF).
"""

from __future__ import annotations

import base64
import binascii
import hmac
import json
import secrets
import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from msgspec import DecodeError, Raw
from msgspec.json import decode

from answer_keys.errors import OtherSetError, SealError, WrongSecretError

if TYPE_CHECKING:
    from pathlib import Path

    from answer_keys.class_secret import ClassSecret

__all__ = [
    "Envelope",
    "KeyCipher",
    "read_sealed_key",
    "seal",
    "unseal",
    "write_sealed_key",
]

_FORMAT = 1
_NONCE_BYTES = 12
_ABOUT = "Sealed answer key. It opens only with the class secret of its set."


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """The readable text around a sealed answer key.

    Attributes
    ----------
    set_id : str
        The class set that the key belongs to.
    secret_mark : str
        Tells whether a class secret is the right one, and nothing else about it.
    nonce, sealed : bytes
    """

    set_id: str
    secret_mark: str
    nonce: bytes
    sealed: bytes

    def writes(self) -> str:
        """Write the envelope as JSON text."""
        body = {
            "about": _ABOUT,
            "kind": "sealed-answer-key",
            "format": _FORMAT,
            "set_id": self.set_id,
            "secret_mark": self.secret_mark,
            "nonce": base64.b64encode(self.nonce).decode("ascii"),
            "sealed": base64.b64encode(self.sealed).decode("ascii"),
        }
        return json.dumps(body, indent=2, ensure_ascii=False) + "\n"

    @classmethod
    def reads(cls, text: str) -> Envelope:
        """Read an envelope from JSON text; raise `SealError` where it is none."""
        try:
            body = json.loads(text)
        except ValueError as error:
            raise SealError("The answer key is damaged: not JSON.") from error
        if not isinstance(body, dict) or body.get("kind") != "sealed-answer-key":
            raise SealError("This is not a sealed answer key.")
        if body.get("format") != _FORMAT:
            raise SealError(
                f"The answer key has format {body.get('format')!r}; "
                f"only format {_FORMAT} is known here."
            )
        try:
            return cls(
                set_id=str(body["set_id"]),
                secret_mark=str(body["secret_mark"]),
                nonce=base64.b64decode(body["nonce"], validate=True),
                sealed=base64.b64decode(body["sealed"], validate=True),
            )
        except (KeyError, TypeError, ValueError, binascii.Error) as error:
            raise SealError(f"The answer key is damaged: {error}.") from error


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyCipher:
    """The algorithm: ChaCha20-Poly1305 under an HKDF-SHA256 key of the secret.

    Attributes
    ----------
    secret : ClassSecret
    set_id : str
        Authenticated with the content, as is the format.
    """

    secret: ClassSecret
    set_id: str

    def encrypt(self, nonce: bytes, content: bytes) -> bytes:
        """Encrypt and authenticate."""
        return self._cipher().encrypt(nonce, content, self._bound_to())

    def decrypt(self, nonce: bytes, sealed: bytes) -> bytes:
        """Check and decrypt; raise `SealError` where a byte was changed."""
        try:
            return self._cipher().decrypt(nonce, sealed, self._bound_to())
        except (InvalidTag, ValueError) as error:
            raise SealError(
                "The answer key is damaged: it was changed after it was sealed."
            ) from error

    def mark(self) -> str:
        """Give a mark of the secret, by which a wrong one is told from damage."""
        return self._derived(b"answer key: secret mark", 8).hex()

    def _cipher(self) -> ChaCha20Poly1305:
        return ChaCha20Poly1305(self._derived(b"answer key: encryption", 32))

    def _bound_to(self) -> bytes:
        return json.dumps([_FORMAT, self.set_id]).encode("ascii")

    def _derived(self, purpose: bytes, length: int) -> bytes:
        derivation = HKDF(
            algorithm=SHA256(),
            length=length,
            salt=self.set_id.encode("utf-8"),
            info=purpose,
        )
        return derivation.derive(self.secret.value)


def seal(secret: ClassSecret, set_id: str, content: dict[str, Any]) -> str:
    """Seal an answer key.

    Parameters
    ----------
    secret : ClassSecret
    set_id : str
    content : dict
        The answer key, as JSON can hold it.

    Returns
    -------
    str
        The envelope as text.
    """
    cipher = KeyCipher(secret=secret, set_id=set_id)
    nonce = secrets.token_bytes(_NONCE_BYTES)
    text = json.dumps(content, sort_keys=True, ensure_ascii=False, allow_nan=False)
    sealed = cipher.encrypt(nonce, zlib.compress(text.encode("utf-8"), 9))
    return Envelope(
        set_id=set_id, secret_mark=cipher.mark(), nonce=nonce, sealed=sealed
    ).writes()


def unseal(secret: ClassSecret, set_id: str, text: str) -> dict[str, Any]:
    """Open a sealed answer key.

    Parameters
    ----------
    secret : ClassSecret
    set_id : str
        The class set whose key this must be.
    text : str
        The envelope.

    Returns
    -------
    dict
        The answer key; never a part of one whose check failed.

    Raises
    ------
    OtherSetError, WrongSecretError, SealError
        Key of another set; other class secret; damaged or of an unknown format.
    """
    envelope = Envelope.reads(text)
    if envelope.set_id != set_id:
        raise OtherSetError(set_id, envelope.set_id)
    cipher = KeyCipher(secret=secret, set_id=set_id)
    if not hmac.compare_digest(cipher.mark().encode(), envelope.secret_mark.encode()):
        raise WrongSecretError(
            "This class secret does not open this answer key: it was sealed with "
            "another one."
        )
    opened = zlib.decompress(cipher.decrypt(envelope.nonce, envelope.sealed))
    try:
        return _content(opened)
    except DecodeError as error:
        raise SealError("The answer key does not hold a table.") from error


def _content(opened: bytes) -> dict[str, Any]:
    """Read the content piece by piece: that of a large class is large as one text."""
    texts = _Texts()
    return {
        name: [texts.read(one) for one in decode(raw, type=list[Raw])]
        if bytes(raw).startswith(b"[")
        else texts.read(raw)
        for name, raw in decode(opened, type=dict[str, Raw]).items()
    }


class _Texts:
    """Keeps each text once: the key of a class says the same again and again."""

    def __init__(self) -> None:
        self._known: dict[str, str] = {}

    def read(self, raw: Raw) -> Any:  # noqa: ANN401 - whatever JSON holds
        return json.loads(bytes(raw), object_pairs_hook=self._object)

    def _object(self, pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        return {name: self._kept(value) for name, value in pairs}

    def _kept(self, value: Any) -> Any:  # noqa: ANN401 - whatever JSON holds
        if isinstance(value, str):
            return self._known.setdefault(value, value)
        return [self._kept(one) for one in value] if isinstance(value, list) else value


def write_sealed_key(
    path: Path, secret: ClassSecret, set_id: str, content: dict[str, Any]
) -> None:
    """Seal an answer key into a file that appears whole or not at all."""
    draft = path.with_name(path.name + ".part")
    draft.write_text(seal(secret, set_id, content), encoding="utf-8", newline="\n")
    draft.replace(path)


def read_sealed_key(path: Path, secret: ClassSecret, set_id: str) -> dict[str, Any]:
    """Open the sealed answer key of a file; raises as `unseal` does."""
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise SealError(f"There is no answer key at {path}.") from error
    except UnicodeDecodeError as error:
        raise SealError("The answer key is damaged: not UTF-8 text.") from error
    return unseal(secret, set_id, text)
