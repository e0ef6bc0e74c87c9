"""What students are told to trust stands for this machine and can sign for no other."""

import http.client
import ipaddress
import ssl
import stat
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from generator.serving.certificate import self_made_certificate
from generator.serving.web import Place, address_of
from tests.serving.test_web import LOOPBACK, asked, running, site

__all__ = ["site"]
BANK = "bank.example"


def forged(issuer, signing, names, folder):
    """Certificate and key for some names, signed by whoever can; the issuer with it."""
    key = ec.generate_private_key(ec.SECP256R1())
    now = datetime.now(UTC)
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Bank")])
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(issuer.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName(names), False)
        .sign(signing, hashes.SHA256())
    )
    pem = serialization.Encoding.PEM
    chain, secret = folder / "forged.pem", folder / "forged-key.pem"
    chain.write_bytes(made.public_bytes(pem) + issuer.public_bytes(pem))
    kind = serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    secret.write_bytes(key.private_bytes(pem, *kind))
    return chain, secret


def is_through(side):
    """Go on with a handshake as far as it goes; whether it is done."""
    try:
        side.do_handshake()
    except ssl.SSLWantReadError:
        return False
    return True


def visited(pair, authority, name):
    """Visit a server with a certificate, as OpenSSL in a machine that trusts ours."""
    trusting = ssl.create_default_context(cafile=authority)
    incoming, outgoing = ssl.MemoryBIO(), ssl.MemoryBIO()
    client = trusting.wrap_bio(incoming, outgoing, server_hostname=name)
    serving = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    serving.load_cert_chain(*pair)
    server = serving.wrap_bio(outgoing, incoming, server_side=True)
    waiting = [client, server]
    while waiting:
        waiting = [side for side in waiting if not is_through(side)]


def certificate_in(path):
    """The certificate of a file."""
    return x509.load_pem_x509_certificate(path.read_bytes())


def test_self_made_certificate_is_one_that_a_machine_can_trust(site, tmp_path):
    """Whoever installs the authority gets https without a warning."""
    made = self_made_certificate(tmp_path, LOOPBACK)
    pair = (made.certificate, made.key)
    visited(pair, made.authority, "localhost")
    with running(site, pair) as server:
        trusting = ssl.create_default_context(cafile=made.authority)
        connection = http.client.HTTPSConnection(
            LOOPBACK, server.server_port, context=trusting
        )
        assert asked(connection, "/start.js").status == 200
        connection.close()
        place = Place(host=LOOPBACK, port=0, certificate=pair)
        assert address_of(server, place) == f"https://{LOOPBACK}:{server.server_port}"


def test_key_on_disk_signs_for_no_other_site(tmp_path):
    """A thief of the server's key can make nobody believe that a bank is there."""
    made = self_made_certificate(tmp_path, LOOPBACK)
    key = serialization.load_pem_private_key(made.key.read_bytes(), None)
    own = certificate_in(made.certificate)
    pair = forged(own, key, [x509.DNSName(BANK)], tmp_path)
    with pytest.raises(ssl.SSLCertVerificationError, match="invalid CA certificate"):
        visited(pair, made.authority, BANK)
    assert own.public_key() == key.public_key()


@pytest.mark.parametrize(
    ("name", "host"),
    [
        (x509.DNSName(BANK), BANK),
        (x509.IPAddress(ipaddress.ip_address("192.0.2.7")), "192.0.2.7"),
        (x509.IPAddress(ipaddress.ip_address("2001:db8::7")), "2001:db8::7"),
    ],
)
def test_authority_signs_for_no_other_site(name, host, tmp_path, monkeypatch):
    """Not even with the key that it had, which nobody has: it is in no file."""
    made_keys, generate = [], ec.generate_private_key

    def noted(curve):
        made_keys.append(generate(curve))
        return made_keys[-1]

    monkeypatch.setattr(ec, "generate_private_key", noted)
    made = self_made_certificate(tmp_path, LOOPBACK)
    authority = certificate_in(made.authority)
    (signing,) = (k for k in made_keys if k.public_key() == authority.public_key())
    own = forged(authority, signing, [x509.DNSName("localhost")], tmp_path)
    visited(own, made.authority, "localhost")
    pair = forged(authority, signing, [name], tmp_path)
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree"):
        visited(pair, made.authority, host)
    numbers = signing.private_numbers().private_value.to_bytes(32, "big")
    on_disk = serialization.load_pem_private_key(made.key.read_bytes(), None)
    assert on_disk.private_numbers().private_value.to_bytes(32, "big") != numbers


def test_certificate_is_made_once_and_anew_for_another_address(tmp_path):
    """A server that is started again keeps its certificate; its key is its owner's."""
    (tmp_path / "site-key.pem").write_bytes(b"one of an older version")
    (tmp_path / "site-key.pem").chmod(0o644)
    made = self_made_certificate(tmp_path, LOOPBACK)
    before = made.authority.read_bytes()
    assert self_made_certificate(tmp_path, LOOPBACK).authority.read_bytes() == before
    assert stat.S_IMODE(made.key.stat().st_mode) == 0o600
    other = self_made_certificate(tmp_path, "10.1.2.3")
    assert other.authority.read_bytes() != before


@pytest.mark.parametrize("name", ["authority", "certificate", "key"])
def test_files_that_do_not_belong_together_are_made_anew(name, tmp_path):
    """As they are where a run was stopped between them."""
    (tmp_path / "other").mkdir()
    made = self_made_certificate(tmp_path, LOOPBACK)
    other = self_made_certificate(tmp_path / "other", LOOPBACK)
    getattr(made, name).write_bytes(getattr(other, name).read_bytes())
    made = self_made_certificate(tmp_path, LOOPBACK)
    visited((made.certificate, made.key), made.authority, "localhost")
