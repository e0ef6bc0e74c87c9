"""Records as plain data, and back by the types that their fields declare."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from types import NoneType, UnionType
from typing import Any, Literal, TypeVar, get_args, get_origin, get_type_hints

Reader = Callable[[Any], Any]
Writer = Callable[[Any], Any]
_T = TypeVar("_T")
# What stands for itself; a whole number may stand for a float, as JSON writes it.
_PLAIN: Mapping[Hashable, tuple[type, ...]] = {
    str: (str,),
    int: (int,),
    float: (float, int),
    bool: (bool,),
}
_GROUPS: Mapping[object, Reader] = {tuple: tuple, list: list, frozenset: frozenset}


def record_from(kind: type[_T], data: object) -> _T:
    """Build a record of a kind, and all that lies in it; what it does not name is left.

    Raises
    ------
    KeyError, TypeError, ValueError
        Where something is missing, is of another shape, or does not fit together.

    Examples
    --------
    >>> from workbook.record.payload import Statement
    >>> data = {"id": "s1", "text": "Open.", "cleared": [], "suspect": ["coil"]}
    >>> record_from(Statement, data).suspect
    ('coil',)
    """
    declared: Any = kind
    record: _T = _reader(declared)(data)
    return record


def plain(record: object) -> Any:  # noqa: ANN401 - JSON
    """Give a record, and all that lies in it, as JSON values; sets are sorted.

    >>> from workbook.record.payload import Choice
    >>> plain((Choice(id="c1", label="Fuse open"),))
    [{'id': 'c1', 'label': 'Fuse open'}]
    """
    kind: Any = type(record)
    return _writer(kind)(record)


@cache
def _writer(kind: type) -> Writer:
    """How a value of a type is written; found once."""
    if is_dataclass(kind):
        names = [each.name for each in fields(kind)]
        return lambda record: {name: plain(getattr(record, name)) for name in names}
    if issubclass(kind, Mapping):
        return lambda record: {name: plain(each) for name, each in record.items()}
    if issubclass(kind, frozenset):
        return sorted
    if issubclass(kind, tuple | list):
        return lambda record: [plain(each) for each in record]
    return lambda record: record


@cache
def _reader(kind: Hashable) -> Reader:
    """How a declared type is read; found once."""
    if kind is Any:
        return lambda data: data
    if kind in _PLAIN:
        return _checker(*_PLAIN[kind])
    if isinstance(kind, type) and is_dataclass(kind):
        return _record_reader(kind)
    origin, parts = get_origin(kind), get_args(kind)
    if origin is Literal:
        return _one_of(parts)
    if origin is UnionType:
        (inner,) = (part for part in parts if part is not NoneType)
        read = _reader(inner)
        return lambda data: None if data is None else read(data)
    if make := _GROUPS.get(origin):
        read, check = _reader(parts[0]), _checker(list, tuple)
        return lambda data: make([read(each) for each in check(data)])
    read, check = _reader(parts[1]), _checker(dict)
    return lambda data: {key: read(value) for key, value in check(data).items()}


def _one_of(words: tuple[Any, ...]) -> Reader:
    def check(data: object) -> object:
        if data not in words:
            raise ValueError(f"{data!r} is none of {words}")
        return data

    return check


def _checker(*kinds: type) -> Reader:
    def check(data: object) -> object:
        # A bool is an int, too, but not in JSON.
        if type(data) not in kinds and (
            isinstance(data, bool) or not isinstance(data, kinds)
        ):
            raise TypeError(f"{data!r} is no {kinds[0].__name__}")
        return data

    return check


def _record_reader(kind: type) -> Reader:
    hints, check = get_type_hints(kind), _checker(dict)
    readers = [(each.name, _reader(hints[each.name])) for each in fields(kind)]
    needed = {
        each.name
        for each in fields(kind)
        if each.default is MISSING and each.default_factory is MISSING
    }

    def read(data: object) -> object:
        if isinstance(data, kind):
            return data
        given = check(data)
        for name in sorted(needed - given.keys()):
            raise KeyError(name)
        known = {name: read(given[name]) for name, read in readers if name in given}
        return kind(**known)

    return read
