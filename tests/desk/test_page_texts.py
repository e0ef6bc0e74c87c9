"""The page has words for what the rest of Clampbook names by an id."""

from importlib.resources import files

import pytest

from answer_keys.marking.rubric import MARKED_STEPS


@pytest.mark.parametrize("step", MARKED_STEPS)
def test_step_of_the_rubric_has_words(step):
    """Else the instructor reads the id."""
    script = files("generator.desk") / "page/screens/mark.js"
    assert f'  {step}: () => _("' in script.read_text("utf-8")
