"""What a server does besides giving out files: it is asked, and answers."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from http import HTTPStatus


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A request.

    Attributes
    ----------
    method : str
        ``GET`` or ``POST``.
    path : str
        Behind the service's own, without a query.
    authorization : str
        The header of that name; empty where there is none.
    """

    method: str
    path: str
    authorization: str = ""
    body: bytes = b""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What is sent back."""

    status: HTTPStatus = HTTPStatus.OK
    body: bytes = b""
    content_type: str = "application/json"


Service = Callable[[Asked], Answer]


def json_answer(value: object, status: HTTPStatus = HTTPStatus.OK) -> Answer:
    """Answer with JSON."""
    return Answer(status=status, body=json.dumps(value, ensure_ascii=False).encode())
