"""What one process of a run has drawn, kept for the others: it takes its time."""

import os
import pickle
from contextlib import suppress
from pathlib import Path
from types import MappingProxyType

from generator.model.catalogue import TESTS
from generator.model.faults import FAULTS
from generator.model.wrong_state import WRONG_STATES

FOLDER = "CLAMPBOOK_TESTS_KEPT"
"""Names the folder of a run, where several processes share its tests."""

_CATALOGUES = (*FAULTS.values(), *TESTS.values(), *(w.test for w in WRONG_STATES))
# What pickle has no name for is named by its place here.
_NAMED = (MappingProxyType, *_CATALOGUES, *(one.applies for one in _CATALOGUES))
_PLACES = {id(one): place for place, one in enumerate(_NAMED)}


class _Pickler(pickle.Pickler):
    def persistent_id(self, part):
        return _PLACES.get(id(part))

    def reducer_override(self, part):
        if isinstance(part, MappingProxyType):
            return MappingProxyType, (dict(part),)
        return NotImplemented


class _Unpickler(pickle.Unpickler):
    def persistent_load(self, place):
        return _NAMED[place]


def kept(name, draw):
    """Take what was drawn under a name, or draw it, and keep it."""
    if FOLDER not in os.environ:
        return draw()
    path = Path(os.environ[FOLDER], name)
    with suppress(FileNotFoundError), path.open("rb") as file:
        return _Unpickler(file).load()
    drawn, own = draw(), path.with_suffix(f".{os.getpid()}")
    with own.open("wb") as file:
        _Pickler(file, pickle.HIGHEST_PROTOCOL).dump(drawn)
    own.replace(path)  # others see all of it, or nothing
    return drawn
