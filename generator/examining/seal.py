"""Seals the record of an examination: whoever lacks the class secret cannot repeat it.

References
----------
RFC 2104 (HMAC).
"""

from __future__ import annotations

import hashlib
import hmac
import json
from pathlib import Path

from answer_keys.keys.class_secret import ClassSecret
from answer_keys.written_files import write_private

_NAME = "sealed.json"
_PURPOSE = b"clampbook examination record\n"


def write_seal(folder: Path, secret: ClassSecret) -> None:
    """Write what the record is now."""
    files = _hashes(folder)
    body = {"files": files, "seal": _mark(files, secret)}
    write_private(folder / _NAME, f"{json.dumps(body, indent=1)}\n".encode())


def changed_since_seal(folder: Path, secret: ClassSecret) -> list[str] | None:
    """Name the files that are not as they were sealed; None where nothing is sealed."""
    path = folder / _NAME
    if not path.exists():
        return None
    try:
        body = json.loads(path.read_bytes())
        files = dict(body["files"])
        is_ours = hmac.compare_digest(str(body["seal"]), _mark(files, secret))
    except (ValueError, TypeError, KeyError):
        return [_NAME]
    if not is_ours:
        return [_NAME]
    now = _hashes(folder)
    # Files that are new or gone are told, too.
    return sorted(n for n in {*files, *now} if files.get(n) != now.get(n))


def _hashes(folder: Path) -> dict[str, str]:
    return {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.glob("*.jsonl"))
    }


def _mark(files: dict[str, str], secret: ClassSecret) -> str:
    text = _PURPOSE + json.dumps(files, sort_keys=True).encode()
    return hmac.new(secret.value, text, "sha256").hexdigest()
