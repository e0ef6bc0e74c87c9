"""A certificate for a class network: browsers keep data only where there is https."""

from __future__ import annotations

import ipaddress
import os
import socket
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from generator.serving.reach import reached_at
from generator.writing.errors import SiteError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["self_made_certificate"]

_DAYS = 365
_KEY = "site-key.pem"
# Windows opens this ending with the dialogue that installs it.
_CERTIFICATE = "site-certificate.crt"


def self_made_certificate(folder: Path, host: str) -> tuple[Path, Path]:
    """Return certificate and key for this machine, made where they are not there yet.

    A certificate that is near its end, or for other addresses, is made anew.

    Parameters
    ----------
    folder : pathlib.Path
        The instructor's own; the key in it is readable by its owner only.
    host : str
        What the server will be bound to.

    Raises
    ------
    SiteError
        Where the folder cannot be written.
    """
    certificate, key = folder / _CERTIFICATE, folder / _KEY
    names = ["localhost", "127.0.0.1", socket.gethostname(), reached_at(host)]
    if not (key.is_file() and _serves(certificate, names)):
        try:
            _make(certificate, key, names)
        except OSError as error:
            raise SiteError(
                f"{folder}: the certificate cannot be written there "
                f"({error.strerror}); allowed is a folder that can be, or a "
                "certificate of your own with --certificate and --key"
            ) from error
    return certificate, key


def _serves(path: Path, names: list[str]) -> bool:
    """Whether a certificate is for these names, and for some days to come."""
    try:
        known = x509.load_pem_x509_certificate(path.read_bytes())
        alternatives = known.extensions.get_extension_for_class(
            x509.SubjectAlternativeName
        ).value
    except (OSError, ValueError, x509.ExtensionNotFound):
        return False
    lasts = known.not_valid_after_utc > datetime.now(UTC) + timedelta(days=7)
    return lasts and set(_alternatives(names)) <= set(alternatives)


def _make(certificate: Path, key: Path, names: list[str]) -> None:
    private = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Clampbook class")])
    now = datetime.now(UTC)
    built = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(private.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=_DAYS))
        .add_extension(x509.SubjectAlternativeName(_alternatives(names)), False)
        # Its own authority, so that it can be installed on the students' machines;
        # it cannot stand for any other, since it signs none.
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), False)
        .sign(private, hashes.SHA256())
    )
    secret = private.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    key.unlink(missing_ok=True)
    with os.fdopen(
        os.open(key, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb"
    ) as f:
        f.write(secret)
    certificate.write_bytes(built.public_bytes(serialization.Encoding.PEM))


def _alternatives(names: list[str]) -> list[x509.GeneralName]:
    return [_general(name) for name in dict.fromkeys(names)]


def _general(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)
