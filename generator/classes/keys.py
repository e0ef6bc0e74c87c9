"""Keys and certificates for the machines of a cluster, from an authority of its own.

Each certificate says what it may be used for: scheduler and workers serve and call,
whoever brings the work only calls, so that a client's folder makes nobody a scheduler.
More dask does not tell apart: it has no roles, and whoever holds any of the keys is let
in, is sent class secrets, and can run programs on all machines. Names of machines are
in none of the certificates: the key is the membership.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.oid import ExtendedKeyUsageOID

from answer_keys.written_files import write_private
from generator.errors import ClusterError
from generator.serving.certificate import new_authority, new_certificate

_CALLS = ExtendedKeyUsageOID.CLIENT_AUTH
_SERVES = ExtendedKeyUsageOID.SERVER_AUTH
_BOTH = x509.ExtendedKeyUsage([_SERVES, _CALLS])
_USES = {
    "scheduler": _BOTH,
    "worker": _BOTH,
    "client": x509.ExtendedKeyUsage([_CALLS]),
}
ROLES = tuple(_USES)
"""Of the machines of a cluster: what the folders of their keys are called."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """What one machine shows the others, in a folder that is copied to it.

    Attributes
    ----------
    authority : pathlib.Path
        Whose certificates it trusts.
    certificate, key : pathlib.Path
        Its own; the key is for its owner's eyes alone.
    """

    authority: Path
    certificate: Path
    key: Path

    @classmethod
    def in_folder(cls, folder: Path) -> Pair:
        """Name the files of a folder, whether they are there or not."""
        return cls(
            authority=folder / "authority.pem",
            certificate=folder / "certificate.pem",
            key=folder / "key.pem",
        )


def read_pair(folder: Path) -> Pair:
    """Find what a machine shows in its folder.

    Raises
    ------
    ClusterError
        Where a file is missing.
    """
    pair = Pair.in_folder(folder)
    files = (pair.authority, pair.certificate, pair.key)
    missing = [path.name for path in files if not path.is_file()]
    if missing:
        raise ClusterError(
            f"{folder}: {', '.join(missing)} is not there; name the folder “client” "
            "that was made with the keys of the cluster"
        )
    return pair


def write_keys(folder: Path) -> dict[str, Pair]:
    """Make the keys of a new cluster, a folder for each role.

    The authority's own key is never written: nothing else will ever be signed by it.

    Raises
    ------
    ClusterError
        Where the folder exists already, or cannot be written.
    """
    if folder.exists():
        raise ClusterError(
            f"{folder}: exists already, and keys are never overwritten; choose a new "
            "name, and give all machines the new keys"
        )
    by = new_authority(_BOTH)
    authority = by[0].public_bytes(Encoding.PEM)
    pairs = {role: Pair.in_folder(folder / role) for role in ROLES}
    try:
        for role, pair in pairs.items():
            certificate, key = new_certificate(f"Clampbook {role}", by, _USES[role])
            write_private(pair.key, key)
            write_private(pair.certificate, certificate)
            write_private(pair.authority, authority)
    except OSError as error:
        raise ClusterError(
            f"{folder}: the keys cannot be written there ({error.strerror}); make the "
            "folder above it writable"
        ) from error
    return pairs
