"""Records out of plain data: all that is declared, and nothing of another shape."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import pytest

from workbook.record.plain import record_from


@dataclass(frozen=True, slots=True, kw_only=True)
class Inner:
    """A record in a record."""

    name: str
    amount: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Outer:
    """One field of every kind."""

    count: int
    is_done: bool
    inner: Inner
    maybe: Inner | None = None
    many: tuple[Inner, ...] = ()
    rows: Mapping[str, list[int]] = field(default_factory=dict)
    ids: frozenset[str] = frozenset()


WHOLE = {"count": 2, "is_done": True, "inner": {"name": "a", "amount": 1}}


def test_record_holds_what_the_data_says():
    """Records, lists, sets and mappings within; what is not declared is left out."""
    inner = {"name": "b"}
    more = {"maybe": inner, "many": [inner], "rows": {"f": [1]}, "ids": ["x"]}
    made = record_from(Outer, {**WHOLE, **more, "unknown": 1})
    b = Inner(name="b")
    assert (made.maybe, made.many, made.rows) == (b, (b,), {"f": [1]})
    assert made.inner == Inner(name="a", amount=1)
    assert made.ids == {"x"}
    assert record_from(Outer, WHOLE).maybe is None
    assert record_from(Outer, {**WHOLE, "inner": b}).inner is b


@pytest.mark.parametrize(
    ("change", "error", "words"),
    [
        ({"count": "2"}, TypeError, "'2' is no int"),
        ({"inner": {}}, KeyError, "name"),
        ({"inner": None}, TypeError, "None is no dict"),
        ({"many": "ab"}, TypeError, "'ab' is no list"),
        ({"rows": {"f": ["1"]}}, TypeError, "'1' is no int"),
        ({"ids": [1]}, TypeError, "1 is no str"),
        ({"rows": []}, TypeError, "is no dict"),
    ],
)
def test_data_of_another_shape_is_no_record(change, error, words):
    """What does not fit is told, and never half taken."""
    with pytest.raises(error, match=words):
        record_from(Outer, {**WHOLE, **change})
