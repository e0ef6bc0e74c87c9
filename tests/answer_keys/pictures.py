"""Pictures of class reports, drawn once for the same numbers: each takes a tenth of
a second, which is most of what grading a small class takes."""

from contextlib import contextmanager
from functools import cache, wraps

import pytest

from answer_keys.reports import figures, report

NAMES = ("path_figure", "step_figure", "total_figure")


@contextmanager
def drawn_once():
    """Let reports have a picture again where they ask for the same one."""
    with pytest.MonkeyPatch.context() as patch:
        for name in NAMES:
            patch.setattr(report, name, _kept(name))
        yield


@cache
def _kept(name):
    draw, drawn = getattr(figures, name), {}

    @wraps(draw)
    def picture(*numbers):
        asked = repr(numbers)
        if asked not in drawn:
            drawn[asked] = draw(*numbers)
        return drawn[asked]

    return picture
