"""Under what address other machines reach this one."""

from __future__ import annotations

import socket

__all__ = ["reached_at"]

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
