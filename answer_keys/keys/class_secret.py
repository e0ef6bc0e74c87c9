"""The class secret: 256 random bits that every draw and every key depend on."""

from __future__ import annotations

import base64
import binascii
import json
import os
import secrets
import unicodedata
from dataclasses import dataclass, field
from pathlib import Path

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

from answer_keys.errors import (
    PassphraseNeededError,
    SecretError,
    WrongPassphraseError,
)
from workbook.texts import _

SECRET_BYTES = 32
_FORMAT = 1
# Ours has a few hundred bytes; of anything larger no more is looked at.
_MAX_FILE_BYTES = 10_000
_SALT_BYTES = 16
# As ChaCha20-Poly1305 asks for it (RFC 8439, section 2.8).
_NONCE_BYTES = 12
_ABOUT = (
    "Class secret. Never hand this file out: whoever has it can open the answer key. "
    "Keep a copy: without it the answer key cannot be opened."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassSecret:
    """The secret of one class set; its value is kept out of any printed form.

    Attributes
    ----------
    value : bytes
        The 32 bytes.
    """

    value: bytes = field(repr=False)

    def __post_init__(self) -> None:
        if len(self.value) != SECRET_BYTES:
            raise ValueError(
                f"a class secret has {SECRET_BYTES} bytes, not {len(self.value)}"
            )


def new_class_secret() -> ClassSecret:
    """Draw a new class secret from the operating system."""
    return ClassSecret(value=secrets.token_bytes(SECRET_BYTES))


def write_class_secret(
    path: Path, secret: ClassSecret, passphrase: str | None = None
) -> None:
    """Write a class secret to a new file that only its owner may read.

    Parameters
    ----------
    path : pathlib.Path
        A file that does not exist yet.
    passphrase : str, optional
        Protects the file, so that it alone opens nothing.

    Raises
    ------
    SecretError
        Where the file exists: a class secret is never overwritten.
    """
    body = {"about": _ABOUT, "kind": "class-secret", "format": _FORMAT}
    body |= (
        {"secret": secret.value.hex()}
        if passphrase is None
        else _protected(secret, passphrase)
    )
    # Its rights are there from the first moment on: nobody can open it before they are
    # set.
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL
    try:
        number = os.open(path, flags, 0o600)
    except FileExistsError as error:
        raise SecretError(
            path, _("there is a class secret already; it is never overwritten")
        ) from error
    with os.fdopen(number, "w", encoding="utf-8", newline="\n") as file:
        file.write(json.dumps(body, indent=2) + "\n")
        file.flush()
        os.fsync(file.fileno())


def read_class_secret(path: Path, passphrase: str | None = None) -> ClassSecret:
    """Read a class secret.

    Parameters
    ----------
    passphrase : str, optional
        Needed where the file was written with one.

    Raises
    ------
    SecretError
        Where the file is missing, damaged or of an unknown format.
    PassphraseNeededError, WrongPassphraseError
        Where the passphrase is missing or wrong.
    """
    body = _read_body(path)
    if "protected" not in body:
        return _decoded(path, body, "secret")
    if passphrase is None:
        raise PassphraseNeededError(path, _("the class secret is under a passphrase"))
    return _unprotected(path, body, passphrase)


def _read_body(path: Path) -> dict[str, str]:
    """Read the file as a flat table of texts."""
    try:
        data = path.read_bytes()
    except FileNotFoundError as error:
        raise SecretError(path, _("there is no class secret here")) from error
    try:
        body = json.loads(data[:_MAX_FILE_BYTES])
    except ValueError as error:
        raise SecretError(path, _("the file is damaged (not JSON)")) from error
    if not isinstance(body, dict) or body.get("kind") != "class-secret":
        raise SecretError(path, _("this is not a class secret"))
    if body.get("format") != _FORMAT:
        raise SecretError(
            path,
            _("format {found} is not known here, only {format}").format(
                found=repr(body.get("format")), format=_FORMAT
            ),
        )
    return {name: text for name, text in body.items() if isinstance(text, str)}


def _bytes_of(path: Path, body: dict[str, str], name: str) -> bytes:
    try:
        return bytes.fromhex(body[name])
    except (KeyError, ValueError) as error:
        raise SecretError(
            path, _("the file is damaged ({name})").format(name=repr(name))
        ) from error


def _decoded(path: Path, body: dict[str, str], name: str) -> ClassSecret:
    try:
        return ClassSecret(value=_bytes_of(path, body, name))
    except ValueError as error:
        raise SecretError(
            path, _("the file is damaged: {error}").format(error=error)
        ) from error


def _protected(secret: ClassSecret, passphrase: str) -> dict[str, str]:
    salt = secrets.token_bytes(_SALT_BYTES)
    nonce = secrets.token_bytes(_NONCE_BYTES)
    cipher = ChaCha20Poly1305(_key_from_passphrase(passphrase, salt))
    sealed = cipher.encrypt(nonce, secret.value, salt)
    return {
        "protection": "Argon2id and ChaCha20-Poly1305",
        "salt": salt.hex(),
        "nonce": nonce.hex(),
        "protected": base64.b64encode(sealed).decode("ascii"),
    }


def _unprotected(path: Path, body: dict[str, str], passphrase: str) -> ClassSecret:
    salt, nonce = (_bytes_of(path, body, name) for name in ("salt", "nonce"))
    try:
        sealed = base64.b64decode(body["protected"], validate=True)
    except binascii.Error as error:
        raise SecretError(path, _("the file is damaged ('protected')")) from error
    # Checked here, or the libraries raise errors of their own for a bent file.
    if (len(salt), len(nonce)) != (_SALT_BYTES, _NONCE_BYTES):
        raise SecretError(path, _("the file is damaged ('salt' or 'nonce')"))
    cipher = ChaCha20Poly1305(_key_from_passphrase(passphrase, salt))
    try:
        return ClassSecret(value=cipher.decrypt(nonce, sealed, salt))
    except InvalidTag as error:
        raise WrongPassphraseError(
            path, _("the passphrase is wrong (or the file was changed)")
        ) from error


def _key_from_passphrase(passphrase: str, salt: bytes) -> bytes:
    # RFC 9106 section 4, second recommended option: 3 passes, 4 lanes, 64 MiB.
    # NFC, because keyboards differ in how they compose an accented letter.
    text = unicodedata.normalize("NFC", passphrase).encode("utf-8")
    derivation = Argon2id(
        salt=salt, length=32, iterations=3, lanes=4, memory_cost=64 * 1024
    )
    return derivation.derive(text)
