"""Under what address other machines reach this one, and by what names."""

from __future__ import annotations

import socket

__all__ = ["names_of", "reached_at"]

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
