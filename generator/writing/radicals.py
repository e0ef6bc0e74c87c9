"""Which faults a workbook draws: what decides how hard the whole is.

In a graded set every student has the same radicals in an order of their own; in a
practice set each student draws freely.
"""

from collections.abc import Sequence
from functools import lru_cache

from generator.model.faults import FAULTS, Symptom, symptoms
from generator.writing.exercise import Radical
from generator.writing.proof import break_circuit
from generator.writing.specification import new_specification
from generator.writing.stream import Stream
from lessons.loader import LessonBook

__all__ = ["new_radicals", "radicals_of_class"]


def radicals_of_class(
    books: Sequence[LessonBook],
    mode: str,
    secret: bytes,
    students: Sequence[str],
    count: int,
) -> dict[str, tuple[Radical, ...]]:
    """Draw the radicals of every student, by student id.

    Parameters
    ----------
    books : sequence of LessonBook
    mode : str
        ``graded`` or ``practice``.
    secret : bytes
        The class secret.
    students : sequence of str
    count : int
        Exercises a student.
    """
    if mode == "practice":
        return {
            student: new_radicals(books, Stream(secret, "radicals", student), count)
            for student in students
        }
    shared = new_radicals(books, Stream(secret, "radicals"), count)
    return {
        student: Stream(secret, "order", student).shuffled(shared)
        for student in students
    }


def new_radicals(
    books: Sequence[LessonBook], stream: Stream, count: int
) -> tuple[Radical, ...]:
    """Draw radicals for one workbook, lessons and families in turn.

    No fault comes twice while others are left, and neighbours ask for different
    repairs where that can be had, so that look-alikes are mixed.
    """
    drawn: list[Radical] = []
    for number in range(count):
        book = books[number % len(books)]
        families = stream.shuffled(book.families)
        used = {radical.family for radical in drawn[-len(families) + 1 :]}
        family = next((f for f in families if f.id not in used), families[0])
        weights = book.lesson.symptoms.model_dump()
        symptom = stream.weighted(list(weights), list(weights.values()))
        pool = _pool(book, family.id)[symptom.replace("_", " ")]  # type: ignore[index]
        fault = _fault(pool, drawn, stream)
        drawn.append(Radical(lesson=book.lesson.id, family=family.id, fault=fault))
    return tuple(drawn)


def _fault(pool: Sequence[str], drawn: Sequence[Radical], stream: Stream) -> str:
    taken = {radical.fault for radical in drawn}
    before = FAULTS[drawn[-1].fault].repair if drawn else ""
    fresh = [f for f in pool if f not in taken and FAULTS[f].repair != before]
    choices = fresh or [f for f in pool if FAULTS[f].repair != before] or list(pool)
    return stream.weighted(choices, [FAULTS[fault].prior for fault in choices])


@lru_cache(maxsize=256)
def _pool(book: LessonBook, family_id: str) -> dict[Symptom, tuple[str, ...]]:
    """Faults of a family by the symptom that they have on a typical circuit."""
    family = next(f for f in book.families if f.id == family_id)
    stream = Stream(bytes(32), "typical", family_id)
    specification = new_specification(book.lesson, family, stream)
    broken = break_circuit(book.lesson, specification, stream)
    felt = symptoms(broken.circuits, specification.nominal)
    return {
        symptom: tuple(
            fault.id
            for fault, each in zip(broken.faults, felt, strict=True)
            if each == symptom
        )
        for symptom in ("does nothing", "works weakly", "never stops")
    }
