"""What became of many files, packed: told one by one, and small in memory."""

from __future__ import annotations

import zlib
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from itertools import islice

from msgspec import msgpack

from answer_keys.gradebook.standings import Receipt

# Names and reasons repeat each other; a thousand of them are a quarter of a megabyte.
_AT_A_TIME = 1000
_SHARE = msgpack.Decoder(list[Receipt])


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipts(Collection[Receipt]):
    """What became of every returned file, in the order of their names.

    Attributes
    ----------
    count : int
        Of files.
    shares : tuple of bytes
        The receipts of so many each, as `receipts_packed` packs them. The same
        receipts have the same bytes.
    """

    count: int
    shares: tuple[bytes, ...]

    def __len__(self) -> int:
        """Tell of how many files it is."""
        return self.count

    def __iter__(self) -> Iterator[Receipt]:
        """Unpack one share after the other."""
        for share in self.shares:
            yield from _SHARE.decode(zlib.decompress(share))

    def __contains__(self, one: object) -> bool:
        """Tell whether a receipt is among them."""
        return any(each == one for each in self)


def receipts_packed(receipts: Iterable[Receipt]) -> Receipts:
    """Pack receipts as they come.

    Examples
    --------
    >>> packed = receipts_packed([Receipt(name="a.jsonl", status="unread")])
    >>> len(packed), [one.name for one in packed]
    (1, ['a.jsonl'])
    """
    left, count, shares = iter(receipts), 0, list[bytes]()
    while some := list(islice(left, _AT_A_TIME)):
        count += len(some)
        shares.append(zlib.compress(msgpack.encode(some)))
    return Receipts(count=count, shares=tuple(shares))
