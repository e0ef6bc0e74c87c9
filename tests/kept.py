"""What one process of a run has drawn, kept for the others: it takes its time."""

import os
import pickle
from contextlib import contextmanager, suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from types import MappingProxyType

from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.catalogue.wrong_state import WRONG_STATES

try:
    import fcntl
except ModuleNotFoundError:  # Windows
    fcntl = None

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


def kept_folder(name, fill, own):
    """Take the folder that was filled under a name, or fill it; nobody changes it.

    Parameters
    ----------
    name : str
        Under which it is kept for the other processes of the run.
    fill : function
        Makes the folder that it is given.
    own : pathlib.Path
        An empty folder, for where there are no other processes.
    """
    if FOLDER not in os.environ or fcntl is None:
        fill(own / name)
        return own / name
    path = Path(os.environ[FOLDER], name)
    with _alone_at(path):
        if not path.exists():
            with TemporaryDirectory(dir=path.parent) as draft:
                fill(Path(draft, name))
                Path(draft, name).rename(path)
    return path


@contextmanager
def _alone_at(path):
    """Let others wait meanwhile: they would only fill the same folder."""
    with path.with_name(f"{path.name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield
