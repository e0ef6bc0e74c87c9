"""Which faults a workbook draws: what decides how hard the whole is.

Where all of a graded set have the same causes, every student has the same radicals in
an order of their own; in a practice set each student draws freely.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import product
from pathlib import Path

from answer_keys.errors import Problem
from answer_keys.needs import Need, Needs
from generator.drawing.course import Course, Goal, new_goals
from generator.drawing.proof import break_circuit
from generator.drawing.radical import Radical
from generator.drawing.request import Mode
from generator.drawing.specification import new_specification, new_variant
from generator.drawing.stream import Stream, at_share
from generator.model.catalogue.faults import FAULTS
from generator.model.complaints import COMPLAINTS, Symptom
from generator.model.steps import Steps, all_together
from generator.model.variant import Variant
from lessons.errors import LessonError
from lessons.loader import LessonBook

Kind = tuple[LessonBook, str, Variant]
Pools = Mapping[Symptom, tuple[str, ...]]
# With the shares of all weights at which its complaint and its fault lie.
_Vehicle = tuple[Kind, float, float]

# A complaint with fewer causes is half guessed.
_CAUSES = 4
# Drawn to see what a lesson can bring; of more vehicles hardly any brings more.
_VEHICLES = 4
# So many vehicles are known at once.
_MOST_POOLS = 1024


def radicals_of_class(
    course: Course,
    mode: Mode,
    secret: bytes,
    students: Sequence[str],
    count: int,
    needs: Needs | None = None,
) -> dict[str, tuple[Radical, ...]]:
    """Draw the radicals of every student, by student id.

    Parameters
    ----------
    mode : Mode
        An ``examination`` has diagnoses only.
    secret : bytes
        The class secret.
    count : int
        Exercises a student.
    needs : Needs or None
        What to practise after an earlier set: in a practice set each student's own, in
        a graded set the class's.
    """
    if mode == "practice":
        return {
            student: free_radicals(course, secret, student, count, needs)
            for student in students
        }
    shared = shared_radicals(course, mode, secret, count, needs)
    return {student: in_own_order(shared, secret, student) for student in students}


def free_radicals(
    course: Course, secret: bytes, student: str, count: int, needs: Needs | None = None
) -> tuple[Radical, ...]:
    """Draw the radicals of one student of a practice set."""
    need = (needs or Needs()).of(student)
    stream = Stream(secret, "radicals", student)
    goals = new_goals(course, need, count, stream)
    return _faded(course, new_radicals(goals, stream))


def shared_radicals(
    course: Course, mode: Mode, secret: bytes, count: int, needs: Needs | None = None
) -> tuple[Radical, ...]:
    """Draw the radicals of a graded class: like exercises, so that marks compare."""
    stream = Stream(secret, "radicals")
    need = (needs or Needs()).whole
    return new_radicals(_goals(course, mode, need, count, stream), stream)


def in_own_order(
    shared: Sequence[Radical], secret: bytes, student: str
) -> tuple[Radical, ...]:
    """Put the radicals of a class into a student's own order."""
    return Stream(secret, "order", student).shuffled(shared)


def goals_of_class(
    course: Course, mode: Mode, secret: bytes, count: int, needs: Needs | None = None
) -> tuple[Goal, ...]:
    """What each exercise of a graded class is: its lesson and its kind.

    Raises
    ------
    LessonError
        Where a lesson has no fault for any complaint that it wants drawn.
    """
    stream = Stream(secret, "radicals")
    goals = _goals(course, mode, (needs or Needs()).whole, count, stream)
    drawn = new_radicals(goals, stream)
    return tuple(
        replace(goal, kind=radical.kind)
        for goal, radical in zip(goals, drawn, strict=True)
    )


def _goals(
    course: Course, mode: Mode, need: Need, count: int, stream: Stream
) -> tuple[Goal, ...]:
    goals = new_goals(course, need, count, stream)
    if mode == "examination":
        return tuple(replace(goal, kind="diagnosis") for goal in goals)
    return goals


def _faded(course: Course, drawn: Sequence[Radical]) -> tuple[Radical, ...]:
    """Do part of the first diagnoses of each lesson for the student.

    Full ones follow: at most half of what a student gets of a lesson is partly done
    (example, faded example, problem: Renkl and Atkinson, Educational Psychologist 38,
    2003, from memory). The last ones have no list of tests.
    """
    diagnoses = defaultdict[str, list[int]](list)
    for number, radical in enumerate(drawn):
        if radical.kind == "diagnosis":
            diagnoses[radical.lesson].append(number)
    made = list(drawn)
    for lesson, numbers in diagnoses.items():
        taught = course.book(lesson).lesson
        steps = taught.given_tests[: len(numbers) // 2]
        for number, given in zip(numbers, steps, strict=False):
            made[number] = replace(drawn[number], given_tests=given)
        # A lesson's first diagnosis keeps its list, even where none is partly done.
        for number in _last(numbers[max(1, len(steps)) :], taught.unlisted):
            made[number] = replace(drawn[number], is_unlisted=True)
    return tuple(made)


def _last(numbers: Sequence[int], count: int) -> Sequence[int]:
    return numbers[-count:] if count else ()


def another_radical(
    course: Course, failed: Sequence[Radical], others: Sequence[Radical], stream: Stream
) -> Radical:
    """Draw what takes the place of radicals that cannot be drawn.

    Parameters
    ----------
    failed : sequence of Radical
        What was tried in this place; the new one is of the same lesson and kind.
    others : sequence of Radical
        The rest of the workbook.
    """
    last = failed[-1]
    goal = Goal(book=course.book(last.lesson), kind=last.kind)
    *_, made = new_radicals((goal,), stream, (*others, *failed))
    return replace(made, given_tests=last.given_tests, is_unlisted=last.is_unlisted)


def new_radicals(
    goals: Sequence[Goal], stream: Stream, before: Sequence[Radical] = ()
) -> tuple[Radical, ...]:
    """Draw radicals for one workbook, one for each goal in turn.

    A fault that is wanted is drawn wherever one of some vehicles can have it. What came
    ``before`` counts as drawn, and stands before the others in what is given back.

    No fault comes again while another has come less often, and neighbours ask for
    different repairs where that can be had, so that look-alikes are mixed.

    Raises
    ------
    LessonError
        Where a lesson has no fault for any complaint that it wants drawn.
    """
    # All vehicles come first, so that what is wrong with them is found in one batch.
    families, vehicles = [radical.family for radical in before], list[_Vehicle]()
    for goal in goals:
        kind = _kind(goal, families, stream)
        families.append(kind[1])
        vehicles.append((kind, stream.share(), stream.share()))
    _find_pools([kind for kind, _, _ in vehicles])
    drawn = list(before)
    for goal, vehicle in zip(goals, vehicles, strict=True):
        drawn.append(_radical(goal, vehicle, drawn))
    return tuple(drawn)


def _kind(goal: Goal, before: Sequence[str], stream: Stream) -> Kind:
    """Draw a family and how it is built, so that it can have the fault wanted."""
    book = goal.book
    families = stream.shuffled(book.families)
    # Every family of a lesson comes once before one comes again.
    # With one family this is all that was drawn (``[0:]``): none is fresh, and it comes
    # again.
    used = {*before[-len(families) + 1 :]}
    fresh = [family for family in families if family.id not in used]
    family = (fresh or families)[0]
    first = (book, family.id, new_variant(book.lesson.variants, stream))
    if not goal.fault or goal.fault in _faults_of(first):
        return first
    for other in (*fresh, *families):
        # Another way to build it may have what this fault needs.
        kind = (book, other.id, new_variant(book.lesson.variants, stream))
        if goal.fault in _faults_of(kind):
            return kind
    return first


def _radical(goal: Goal, vehicle: _Vehicle, drawn: Sequence[Radical]) -> Radical:
    """Choose the complaint and the fault of a vehicle, behind what was drawn."""
    kind, *_ = vehicle
    lesson = goal.book.lesson
    symptom, fault = _fault(vehicle, drawn, goal.fault)
    # Kinds come in turn within each lesson, however lessons are mixed.
    turn = sum(radical.lesson == lesson.id for radical in drawn)
    return Radical(
        lesson=lesson.id,
        family=kind[1],
        fault=fault,
        variant=kind[2],
        symptom=symptom,
        causes=min(_CAUSES, len(_pools(kind)[symptom])),
        kind=goal.kind or lesson.kinds[turn % len(lesson.kinds)],
    )


def _fault(
    vehicle: _Vehicle, drawn: Sequence[Radical], wanted: str
) -> tuple[Symptom, str]:
    """Choose a complaint by the lesson's weights, then a fault of it by its prior."""
    kind, symptom_share, fault_share = vehicle
    weights = kind[0].lesson.symptoms
    pools = _pools_asked(kind)
    if not pools:
        raise _nothing_to_draw(kind)
    # A fault that is wanted comes even if it has just been there.
    pools = _kept(pools, lambda fault: fault == wanted) or _next_best(pools, drawn)
    symptom = at_share(symptom_share, list(pools), [weights.of(each) for each in pools])
    choices = pools[symptom]
    priors = [FAULTS[fault].prior for fault in choices]
    return symptom, at_share(fault_share, choices, priors)


def _pools_asked(kind: Kind) -> dict[Symptom, tuple[str, ...]]:
    """Return the faults that a lesson can ask for on a vehicle, by complaint.

    Where too few faults bring a complaint here, and enough bring it on another vehicle
    of the lesson, it is asked there, unless one of them happens on no such vehicle.
    """
    book = kind[0]
    weights = book.lesson.symptoms
    pools = {
        symptom: pool
        for symptom, pool in _pools(kind).items()
        if _is_a_question(pool) and weights.of(symptom) > 0
    }
    needed = _enough_causes(book)
    enough = {
        symptom: pool
        for symptom, pool in pools.items()
        if any(len(pool) >= needed[symptom, fault] for fault in pool)
    }
    return enough or pools


@lru_cache(maxsize=64)
def _enough_causes(book: LessonBook) -> Counter[tuple[Symptom, str]]:
    """How many causes are enough to ask for a complaint that a fault brings.

    As many as it has beside it where most bring that complaint, on some typical
    vehicles of a lesson; and no more than leave little to guess.
    """
    # No secret of a class: what a lesson can ask for is the same for all of them.
    stream = Stream(bytes(32), "vehicles", book.lesson.id)
    variants = {new_variant(book.lesson.variants, stream) for _ in range(_VEHICLES)}
    most = Counter[tuple[Symptom, str]]()
    kinds = [
        (book, family.id, variant)
        for family, variant in product(book.families, sorted(variants, key=repr))
    ]
    _find_pools(kinds)
    for kind in kinds:
        for symptom, pool in _pools(kind).items():
            most |= Counter({(symptom, fault): len(pool) for fault in pool})
    return Counter({key: min(_CAUSES, count) for key, count in most.items()})


def _faults_of(kind: Kind) -> set[str]:
    return {fault for pool in _pools_asked(kind).values() for fault in pool}


def _is_a_question(pool: Sequence[str]) -> bool:
    """Whether the causes of a complaint do not all have the same repair."""
    return len({FAULTS[fault].repair for fault in pool}) > 1


def _next_best(
    pools: Mapping[Symptom, tuple[str, ...]], drawn: Sequence[Radical]
) -> dict[Symptom, tuple[str, ...]]:
    """Keep the faults that came least often, and of these unlike the one before."""
    times = Counter(radical.fault for radical in drawn)
    least = min(times[fault] for pool in pools.values() for fault in pool)
    before = FAULTS[drawn[-1].fault].repair if drawn else ""
    fresh = _kept(pools, lambda fault: times[fault] == least)
    mixed = _kept(fresh, lambda fault: FAULTS[fault].repair != before)
    return mixed or fresh


def _kept(
    pools: Mapping[Symptom, tuple[str, ...]], wanted: Callable[[str], bool]
) -> dict[Symptom, tuple[str, ...]]:
    kept = {symptom: tuple(filter(wanted, pool)) for symptom, pool in pools.items()}
    return {symptom: pool for symptom, pool in kept.items() if pool}


def _nothing_to_draw(kind: Kind) -> LessonError:
    book, family_id, _ = kind
    found = {s: ", ".join(pool) or "none" for s, pool in _pools(kind).items()}
    said = "; ".join(f"{symptom}: {pool}" for symptom, pool in found.items())
    message = (
        f"symptoms: no complaint of a {family_id} with a weight above 0 has faults of "
        f"the lesson with different repairs; its faults by complaint are {said}"
    )
    path = Path(book.lesson.id) / "lesson.toml"
    return LessonError([Problem(path=path, line=1, message=message)])


# Without the class secret, too: those of all classes.
_found = dict[Kind, Pools]()


def _pools(kind: Kind) -> Pools:
    """Faults of a family by the complaint that they bring on a typical circuit."""
    _find_pools([kind])
    return _found[kind]


def _find_pools(kinds: Sequence[Kind]) -> None:
    """Find the pools of several vehicles in one batch, where they are not known."""
    new = [kind for kind in dict.fromkeys(kinds) if kind not in _found]
    if len(_found) + len(new) > _MOST_POOLS:
        _found.clear()
    made = all_together([_new_pools(*kind) for kind in new])
    _found.update(zip(new, made, strict=True))


def _new_pools(book: LessonBook, family_id: str, variant: Variant) -> Steps[Pools]:
    family = next(f for f in book.families if f.id == family_id)
    stream = Stream(bytes(32), "typical", family_id)
    specification = new_specification(book.lesson, family, variant, stream)
    broken = yield from break_circuit.steps(book.lesson, specification, stream)
    return {
        symptom: tuple(
            fault.id
            for fault, each in zip(broken.faults, broken.felt, strict=True)
            if each == symptom
        )
        for symptom in COMPLAINTS
    }
