"""What the README counts is counted."""

from pathlib import Path

from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.catalogue.wrong_state import WRONG_STATES

README = Path(__file__).parents[2] / "README.md"


def test_readme_counts_faults_and_tests():
    """Whoever adds one says so there."""
    text = " ".join(README.read_text("utf-8").split())
    assert f"**{len(FAULTS)} faults, {len(TESTS)} tests**" in text
    count = {10: "ten"}.get(len(WRONG_STATES), len(WRONG_STATES))
    assert f"and {count} tests done in a wrong state" in text
