"""What other programs that we start find around them."""

from __future__ import annotations

import os

_OURS = "CLAMPBOOK_"


def plain_environment() -> dict[str, str]:
    """Return the environment without what is for us alone.

    Our passphrase opens the answer key, and our address of a gradebook may hold a
    password: no program of others needs them.
    """
    return {
        name: text for name, text in os.environ.items() if not name.startswith(_OURS)
    }
