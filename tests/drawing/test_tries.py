"""Which of its tries an exercise is, however many are made at a time."""

import pytest

from generator.drawing import exercise_draw
from generator.drawing.exercise_draw import Wanted, new_exercise, new_exercises
from generator.drawing.proof import Unproved
from generator.drawing.radical import Radical
from generator.errors import DrawError
from generator.model.variant import Variant
from lessons.loader import read_lesson

LESSON = read_lesson("whole-circuit")
RADICAL = Radical(
    lesson=LESSON.lesson.id,
    family=LESSON.families[0].id,
    fault="coil_open",
    variant=Variant(),
)


def drawn_from(first):
    """Draw nothing that can be proved before a try; give the number of the try."""

    def drawn(_book, _radical, number):
        yield from ()
        if number < first:
            raise Unproved(f"try {number} fails")
        return number

    return drawn


@pytest.mark.parametrize("first", [0, 1, 3, 4, 6, 12, 59])
def test_first_try_that_passes_is_the_exercise(monkeypatch, first):
    """Alone and beside others: tries that are made ahead change nothing."""
    monkeypatch.setattr(exercise_draw, "Stream", lambda _secret, *labels: labels[-1])
    monkeypatch.setattr(exercise_draw, "_drawn", drawn_from(first))
    wanted = [Wanted(book=LESSON, radical=RADICAL, labels=(place,)) for place in "ab"]
    assert new_exercises(wanted, b"") == [first, first]
    assert new_exercise(LESSON, RADICAL, b"", ("a",)) == first


def test_draw_that_never_passes_tells_what_its_last_try_failed_on(monkeypatch):
    """It is given up after as many tries as nearly every radical needs."""
    monkeypatch.setattr(exercise_draw, "Stream", lambda _secret, *labels: labels[-1])
    monkeypatch.setattr(exercise_draw, "_drawn", drawn_from(1000))
    wanted = Wanted(book=LESSON, radical=RADICAL, labels=("a",))
    [failed] = new_exercises([wanted], b"")
    assert isinstance(failed, DrawError)
    assert "try 59 fails" in str(failed)
