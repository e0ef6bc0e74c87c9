"""Pictures of the class report."""

import base64

import pytest

from answer_keys.reports import figures

ASKED = {
    "total_figure": ([40.0, 45.0, 90.0],),
    "step_figure": ({"cause": [40.0, 45.0, 90.0], "findings": [100.0]},),
    "path_figure": ([6.0, 9.0], [7.0, None]),
}


@pytest.mark.parametrize("name", ASKED)
def test_picture_drawn_again_is_the_same_bytes(name):
    """The same marks give the same report, so that grading again changes no file."""
    draw = getattr(figures, name)
    picture = draw(*ASKED[name])
    assert base64.b64decode(picture.partition(",")[2]).lstrip().startswith(b"<?xml")
    assert draw(*ASKED[name]) == picture
