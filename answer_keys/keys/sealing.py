"""Seal the answer key: authenticated encryption under the class secret.

Three small parts: `KeyCipher` (the algorithm), `Envelope` (the readable text around
the sealed bytes), and `write_sealed_key` / `read_sealed_key` (the file).

References
----------
RFC 8439 (ChaCha20 and Poly1305), RFC 5869 (HKDF).
"""

from __future__ import annotations

import hmac
import json
import secrets
from base64 import b64encode
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import msgspec
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from answer_keys.decoding import in_words
from answer_keys.errors import OtherSetError, SealError, WrongSecretError
from answer_keys.keys.answer_key import AnswerKey, answer_key_from_packed
from answer_keys.keys.class_secret import ClassSecret
from answer_keys.written_files import write_private_parts
from workbook.texts import _

_KIND = "sealed-answer-key"
_FORMAT = 1
# As ChaCha20-Poly1305 asks for it (RFC 8439, section 2.8).
_NONCE_BYTES = 12
_ABOUT = "Sealed answer key. It opens only with the class secret of its set."


# Read before the rest, so that another format is told as such and not as damage.
class _Head(msgspec.Struct, frozen=True):
    kind: str = ""
    format: Any = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """The readable text around a sealed answer key.

    Attributes
    ----------
    format : int
        How the key was written before it was sealed.
    set_id : str
        The class set that the key belongs to.
    secret_mark : str
        Tells whether a class secret is the right one, and nothing else about it.
    """

    format: int
    set_id: str
    secret_mark: str
    nonce: bytes
    sealed: bytes

    def writes(self) -> bytes:
        """Write the envelope as JSON, its bytes in base64."""
        return b"".join(self.parts())

    def parts(self) -> tuple[bytes, ...]:
        """Write it in parts: the key of a large class is not copied once more."""
        body = {"about": _ABOUT, "kind": _KIND, **asdict(self), "sealed": b""}
        frame = msgspec.json.format(msgspec.json.encode(body), indent=2)
        before, after = frame.rsplit(b'""', 1)
        return before, b'"', b64encode(self.sealed), b'"', after, b"\n"

    @classmethod
    def reads(cls, text: bytes) -> Envelope:
        """Read an envelope from JSON; raise `SealError` where it is none."""
        try:
            head = msgspec.json.decode(text, type=_Head)
        except msgspec.ValidationError as error:
            raise SealError(_("This is not a sealed answer key.")) from error
        except msgspec.DecodeError as error:
            raise SealError(_("The answer key is damaged: not JSON.")) from error
        if head.kind != _KIND:
            raise SealError(_("This is not a sealed answer key."))
        if head.format != _FORMAT:
            raise SealError(
                _(
                    "The answer key has format {found}; this release reads format "
                    "{known} only. Open the set with the release that wrote it."
                ).format(found=repr(head.format), known=_FORMAT)
            )
        try:
            return msgspec.json.decode(text, type=cls)
        except msgspec.ValidationError as error:
            raise SealError(
                _("The answer key is damaged: {why}.").format(why=in_words(error))
            ) from error


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyCipher:
    """The algorithm: ChaCha20-Poly1305 under an HKDF-SHA256 key of the secret.

    Attributes
    ----------
    format : int
        Authenticated with the content, as is the set.
    """

    secret: ClassSecret
    set_id: str
    format: int

    def encrypt(self, nonce: bytes, content: bytes) -> bytes:
        """Encrypt and authenticate."""
        return self._cipher().encrypt(nonce, content, self._bound_to())

    def decrypt(self, nonce: bytes, sealed: bytes) -> bytes:
        """Check and decrypt; raise `SealError` where a byte was changed."""
        try:
            return self._cipher().decrypt(nonce, sealed, self._bound_to())
        except (InvalidTag, ValueError) as error:
            raise SealError(
                _("The answer key is damaged: it was changed after it was sealed.")
            ) from error

    def mark(self) -> str:
        """Return a mark of the secret, by which a wrong one is told from damage."""
        return self._derived(b"answer key: secret mark", 8).hex()

    def _cipher(self) -> ChaCha20Poly1305:
        return ChaCha20Poly1305(self._derived(b"answer key: encryption", 32))

    def _bound_to(self) -> bytes:
        # As a list in JSON, so that no other format and set are ever written the same.
        return json.dumps([self.format, self.set_id]).encode("ascii")

    def _derived(self, purpose: bytes, length: int) -> bytes:
        derivation = HKDF(
            algorithm=SHA256(),
            length=length,
            salt=self.set_id.encode("utf-8"),
            info=purpose,
        )
        return derivation.derive(self.secret.value)


def seal(secret: ClassSecret, key: AnswerKey) -> bytes:
    """Seal an answer key.

    Returns
    -------
    bytes
        The envelope, as JSON.
    """
    return _sealed(secret, key).writes()


def _sealed(secret: ClassSecret, key: AnswerKey) -> Envelope:
    cipher = KeyCipher(secret=secret, set_id=key.set_id, format=_FORMAT)
    nonce = secrets.token_bytes(_NONCE_BYTES)
    return Envelope(
        format=_FORMAT,
        set_id=key.set_id,
        secret_mark=cipher.mark(),
        nonce=nonce,
        sealed=cipher.encrypt(nonce, key.writes()),
    )


def unseal(secret: ClassSecret, set_id: str, text: bytes) -> AnswerKey:
    """Open a sealed answer key.

    Parameters
    ----------
    set_id : str
        The class set whose key this must be.
    text : bytes
        The envelope.

    Returns
    -------
    AnswerKey
        Never a part of one whose check failed.

    Raises
    ------
    OtherSetError, WrongSecretError, SealError
        Key of another set; other class secret; damaged or of an unknown format.
    KeyContentError
        Where what was sealed is no answer key.
    """
    envelope = Envelope.reads(text)
    if envelope.set_id != set_id:
        problem = _(
            "This is the answer key of set {found}, not of set {expected}."
        ).format(found=repr(envelope.set_id), expected=repr(set_id))
        raise OtherSetError(problem, expected=set_id, found=envelope.set_id)
    cipher = KeyCipher(secret=secret, set_id=set_id, format=envelope.format)
    if not hmac.compare_digest(cipher.mark().encode(), envelope.secret_mark.encode()):
        raise WrongSecretError(
            _(
                "This class secret does not open this answer key: it was sealed with "
                "another one."
            )
        )
    return answer_key_from_packed(cipher.decrypt(envelope.nonce, envelope.sealed))


def write_sealed_key(path: Path, secret: ClassSecret, key: AnswerKey) -> None:
    """Seal an answer key into a file that appears whole or not at all."""
    write_private_parts(path, _sealed(secret, key).parts())


def read_sealed_key(path: Path, secret: ClassSecret, set_id: str) -> AnswerKey:
    """Open the sealed answer key of a file; raises as `unseal` does."""
    try:
        text = path.read_bytes()
    except FileNotFoundError as error:
        raise SealError(
            _("There is no answer key at {path}.").format(path=path)
        ) from error
    return unseal(secret, set_id, text)
