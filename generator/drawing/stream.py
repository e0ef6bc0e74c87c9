"""Draws from a keyed secret stream: only who holds the secret can repeat them.

Each use of the secret has a key of its own, derived with HMAC-SHA-256 (RFC 2104), and
reads SHAKE-256 (FIPS 202) keyed by it as an endless stream of bits. Whole numbers are
drawn by rejection, so that none is favoured.
"""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Sequence
from typing import TypeVar

_T = TypeVar("_T")
# One hash yields some 150 numbers, so that few are needed.
_BLOCK = 1024
# All bits of a float below 1: the same numbers on every machine.
_MANTISSA = 53


class Stream:
    """A stream of draws, fixed by the secret and the labels of its use.

    Examples
    --------
    >>> a, b = (Stream(bytes(32), "s01", 3) for _ in range(2))
    >>> a.integer(1000) == b.integer(1000)
    True
    """

    def __init__(self, secret: bytes, *labels: str | int) -> None:
        # A separator between labels: without it ("s1", 12) and ("s11", 2) were one use.
        text = "\x1f".join(["clampbook 1", *map(str, labels)])
        self._key = hmac.digest(secret, text.encode(), "sha256")
        self._pool = b""
        self._blocks = 0

    def aside(self, *labels: str | int) -> Stream:
        """Open a stream of its own, which takes nothing from this one."""
        return Stream(self._key, *labels)

    def _bits(self, count: int) -> int:
        size = (count + 7) // 8
        while len(self._pool) < size:
            block = self._blocks.to_bytes(8, "big")
            self._pool += hashlib.shake_256(self._key + block).digest(_BLOCK)
            self._blocks += 1
        taken, self._pool = self._pool[:size], self._pool[size:]
        return int.from_bytes(taken, "big") >> (size * 8 - count)

    def integer(self, stop: int) -> int:
        """Draw a whole number from 0 up to, not including, ``stop``."""
        if stop < 1:
            raise ValueError(f"stop is {stop}. Give 1 or more.")
        count = max(1, (stop - 1).bit_length())
        # A remainder would favour low numbers wherever ``stop`` is no power of two.
        while (number := self._bits(count)) >= stop:
            pass
        return number

    def uniform(self, low: float, high: float) -> float:
        """Draw evenly between two bounds."""
        return low + (high - low) * self._bits(_MANTISSA) / (1 << _MANTISSA)

    def choice(self, items: Sequence[_T]) -> _T:
        """Draw one of several things, each as likely."""
        return items[self.integer(len(items))]

    def weighted(self, items: Sequence[_T], weights: Sequence[float]) -> _T:
        """Draw one of several things by weight; some weight must be above 0."""
        return at_share(self.share(), items, weights)

    def share(self) -> float:
        """Draw evenly from 0 up to 1."""
        return self._bits(_MANTISSA) / (1 << _MANTISSA)

    def shuffled(self, items: Sequence[_T]) -> tuple[_T, ...]:
        """Draw an order, each as likely (Fisher and Yates)."""
        order = list(items)
        for last in range(len(order) - 1, 0, -1):
            other = self.integer(last + 1)
            order[last], order[other] = order[other], order[last]
        return tuple(order)


def at_share(share: float, items: Sequence[_T], weights: Sequence[float]) -> _T:
    """Take what lies at a share of all weights; some weight must be above 0."""
    point = share * sum(weights)
    for item, weight in zip(items, weights, strict=True):
        point -= weight
        if point < 0:
            return item
    raise ValueError("no weight is above 0")
