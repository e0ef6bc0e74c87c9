import pytest

from answer_keys.errors import RubricError
from answer_keys.marking.rubric import (
    STEPS,
    read_rubric,
    rubric_from_text,
    rubric_text,
)

FLAT = "[rubric]\n" + "".join(f"{step} = 10\n" for step in STEPS)
CAUSE, FINDINGS, END = (
    2 + line for line in (STEPS.index("cause"), STEPS.index("findings"), len(STEPS))
)
"""Lines of it, and the one behind it."""


def faults_of(text):
    """The faults of a rubric text."""
    with pytest.raises(RubricError) as caught:
        rubric_from_text(text)
    return caught.value.problems


def test_default_rubric_adds_up_to_a_hundred():
    """The rubric of a new set has its weights and 100 marks."""
    rubric = rubric_from_text(rubric_text())
    assert list(rubric.weights.values()) == [20, 20, 20, 20, 10, 10]
    assert rubric.total == 100


def test_fingerprint_follows_the_weights_only():
    """Comments do not change the fingerprint, weights do."""
    rubric = rubric_from_text(FLAT)
    assert rubric_from_text("# note\n" + FLAT).sha256 == rubric.sha256
    changed = rubric_from_text(FLAT.replace("cause = 10", "cause = 11"))
    assert changed.sha256 != rubric.sha256


def test_rubric_is_read_from_a_file(tmp_path):
    """A file with a byte order mark is read as well."""
    path = tmp_path / "rubric.toml"
    path.write_text("\ufeff" + FLAT, encoding="utf-8")
    assert read_rubric(path).total == 10 * len(STEPS)


def test_all_faults_are_reported_at_once():
    """Each fault comes with its line and what to write."""
    text = FLAT.replace("cause = 10", "cause = -1").replace("findings", "findngs")
    faults = faults_of("top = 1\n" + text + 'correction2 = "x"\n')
    lines = sorted(fault.line for fault in faults)
    assert lines == [1, 2, *(1 + line for line in (FINDINGS, CAUSE, END))]
    assert {str(fault) for fault in faults} > {
        f"rubric.toml, line {1 + CAUSE}: rubric.cause: must be 0 or more (given: -1)",
        "rubric.toml, line 1: top: there is no such key. "
        "Write one of rubric, hand_ins, method.",
    }


@pytest.mark.parametrize("value", ["true", '"10"', "nan", "inf", "1001", "[1]"])
def test_weight_that_is_no_number_of_marks_is_a_fault(value):
    """Booleans, texts and infinite weights are refused."""
    (fault,) = faults_of(FLAT.replace("cause = 10", f"cause = {value}"))
    assert fault.line == CAUSE


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("", "rubric: is missing. Write a table with predictions"),
        ("rubric = 3", "rubric: 3 is no table"),
        (FLAT.replace("10", "0"), "every step has 0 marks"),
        ("[rubric]\ncause = ", "Invalid value"),
        ("[rubric", "Expected"),
    ],
)
def test_rubric_as_a_whole_is_checked(text, found):
    """A rubric without marks, without a table or without TOML is one fault."""
    (fault,) = faults_of(text)
    assert found in fault.message


def test_missing_or_binary_rubric_file_is_a_fault(tmp_path):
    """A file that is not there or not text has no line."""
    path = tmp_path / "rubric.toml"
    with pytest.raises(RubricError, match="no such file"):
        read_rubric(path)
    path.write_bytes(b"\xff")
    with pytest.raises(RubricError, match="not UTF-8"):
        read_rubric(path)
