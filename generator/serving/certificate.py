"""A certificate for a class network: browsers keep data only where there is https."""

from __future__ import annotations

import ipaddress
import socket
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from answer_keys.written_files import write_private
from generator.errors import SiteError
from workbook.texts import _

_ALL = ("0.0.0.0", "::")  # noqa: S104 - compared, never bound
# From a block that is only for examples (RFC 5737).
_ELSEWHERE = ("192.0.2.1", 9)


def reached_at(host: str) -> str:
    """Return what others open, for a server that is bound to ``host``."""
    if host not in _ALL:
        return host
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # Sends nothing: it asks this machine which way leads out.
            probe.connect(_ELSEWHERE)
            return str(probe.getsockname()[0])
        except OSError:
            return socket.gethostname()


def names_of(host: str) -> tuple[str, ...]:
    """Return the names and addresses of a server that is bound to ``host``.

    They are what its links say, this machine's own name, and the loopback ones.
    """
    own = ("localhost", "127.0.0.1", socket.gethostname(), reached_at(host))
    return tuple(dict.fromkeys(name.lower() for name in own))


_DAYS = 365
_PEM = serialization.Encoding.PEM
_ONLY_SERVERS = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])


@dataclass(frozen=True, slots=True, kw_only=True)
class SelfMade:
    """A certificate for this machine, and the authority that made it.

    Browsers take an authority to trust, and no server's certificate by itself. So there
    is one, for the names of this machine alone. Its key is never written: what students
    trust has signed one certificate and can sign no other.

    Attributes
    ----------
    authority : pathlib.Path
        For the students' machines to trust.
    certificate, key : pathlib.Path
        For the server; the key is readable by its owner only.
    """

    authority: Path
    certificate: Path
    key: Path


def self_made_certificate(folder: Path, host: str) -> SelfMade:
    """Return certificate and key for this machine, made where they are not there yet.

    A certificate that is near its end, or for other addresses, is made anew, with an
    authority of its own.

    Parameters
    ----------
    folder : pathlib.Path
        The instructor's own.
    host : str
        What the server will be bound to.

    Raises
    ------
    SiteError
        Where the folder cannot be written.
    """
    made = SelfMade(
        # Windows opens this ending with the dialogue that installs it.
        authority=folder / "site-authority.crt",
        certificate=folder / "site-certificate.pem",
        key=folder / "site-key.pem",
    )
    names = [_general(name) for name in names_of(host)]
    if not _serves(made, names):
        try:
            _make(made, names)
        except OSError as error:
            raise SiteError(
                _(
                    "{folder}: the certificate cannot be written there ({strerror}). "
                    "Make the folder writable, or give a certificate of your own with "
                    "--certificate."
                ).format(folder=folder, strerror=error.strerror)
            ) from error
    return made


def _serves(made: SelfMade, names: list[x509.GeneralName]) -> bool:
    """Whether all three belong together, for these names and for some days to come."""
    try:
        authority = x509.load_pem_x509_certificate(made.authority.read_bytes())
        known = x509.load_pem_x509_certificate(made.certificate.read_bytes())
        key = serialization.load_pem_private_key(made.key.read_bytes(), None)
        known.verify_directly_issued_by(authority)
        alternatives = known.extensions.get_extension_for_class(
            x509.SubjectAlternativeName
        ).value
    except (OSError, ValueError, TypeError, InvalidSignature, x509.ExtensionNotFound):
        return False
    # It should not run out in the week that it is opened in.
    lasts = known.not_valid_after_utc > datetime.now(UTC) + timedelta(days=7)
    is_its_own = key.public_key() == known.public_key()
    return lasts and is_its_own and set(names) <= set(alternatives)


def _make(made: SelfMade, names: list[x509.GeneralName]) -> None:
    authority, signing = new_authority(_ONLY_SERVERS, names)
    certificate, key = new_certificate(
        "Clampbook class", (authority, signing), _ONLY_SERVERS, names
    )
    write_private(made.key, key)
    made.authority.write_bytes(authority.public_bytes(_PEM))
    made.certificate.write_bytes(certificate)


def new_authority(
    uses: x509.ExtendedKeyUsage, names: Sequence[x509.GeneralName] = ()
) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    """Make an authority, and the key with which it signs.

    Parameters
    ----------
    uses : cryptography.x509.ExtendedKeyUsage
        What its certificates may be used for.
    names : sequence of cryptography.x509.GeneralName
        A certificate of its for any other is void; with none, names are not limited.
    """
    signing = ec.generate_private_key(ec.SECP256R1())
    # Each has a name of its own, so that browsers confuse none with an older one.
    subject = _named(f"Clampbook authority {x509.random_serial_number() % 16**8:08x}")
    begun = (
        _begun(subject, subject, signing)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), True)
        .add_extension(_usage(signs_certificates=True), True)
        .add_extension(uses, False)
    )
    if names:
        limits = [_limit(name) for name in names]
        begun = begun.add_extension(x509.NameConstraints(limits, None), True)
    return begun.sign(signing, hashes.SHA256()), signing


def new_certificate(
    name: str,
    by: tuple[x509.Certificate, ec.EllipticCurvePrivateKey],
    uses: x509.ExtendedKeyUsage,
    names: Sequence[x509.GeneralName] = (),
) -> tuple[bytes, bytes]:
    """Make a certificate and its key.

    Parameters
    ----------
    by : pair
        As `new_authority` gives it.
    names : sequence of cryptography.x509.GeneralName
        Whose it is, where anybody checks that.

    Returns
    -------
    certificate, key : bytes
        In PEM; the key is under no passphrase.
    """
    authority, signing = by
    key = ec.generate_private_key(ec.SECP256R1())
    begun = (
        _begun(_named(name), authority.subject, key)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), True)
        .add_extension(_usage(signs_certificates=False), True)
        .add_extension(uses, False)
    )
    if names:
        begun = begun.add_extension(x509.SubjectAlternativeName(names), False)
    secret = key.private_bytes(
        _PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    return begun.sign(signing, hashes.SHA256()).public_bytes(_PEM), secret


def _begun(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey
) -> x509.CertificateBuilder:
    now = datetime.now(UTC)
    return x509.CertificateBuilder(
        subject_name=subject,
        issuer_name=issuer,
        public_key=key.public_key(),
        serial_number=x509.random_serial_number(),
        # Clocks of students' machines may be behind.
        not_valid_before=now - timedelta(days=1),
        not_valid_after=now + timedelta(days=_DAYS),
    )


def _named(name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    """What the key of an authority is for, or else that of a server."""
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        crl_sign=False,
        encipher_only=False,
        decipher_only=False,
    )


def _general(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _limit(name: x509.GeneralName) -> x509.GeneralName:
    """The name as what an authority is limited to: of an address, all its bits."""
    if isinstance(name, x509.IPAddress):
        return x509.IPAddress(ipaddress.ip_network(name.value))
    return name
