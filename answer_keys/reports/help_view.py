"""Who needs help and with what, and what to teach the class again next; pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from answer_keys.gradebook.results import ClassResult, StudentResult
from answer_keys.misconceptions import Misconception
from answer_keys.reports.class_view import FaultGroup, percent
from answer_keys.reports.skills import SKILLS, Mastery, Showing, mastery_of, showings_of
from workbook.texts import _, ngettext

# Common marks of schools, no source: below the first a pass is in doubt, from the
# second on nobody needs help.
_ENOUGH_PERCENT = 60.0
_GOOD_PERCENT = 80.0
# More than two things at a time are no plan for a week.
_WEAK = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class StudentView:
    """How one student stands.

    Attributes
    ----------
    percent : float
        Of all marks.
    skills : mapping of str to Mastery
        Of the skills that were tried.
    shown : tuple of Showing
        Misconceptions shown.
    """

    student: StudentResult
    percent: float
    skills: Mapping[str, Mastery]
    shown: tuple[Showing, ...]

    @property
    def held(self) -> tuple[Showing, ...]:
        """Misconceptions that come back too often for a slip."""
        return tuple(one for one in self.shown if one.is_held)

    @property
    def weak(self) -> tuple[str, ...]:
        """The weakest skills that are not mastered."""
        open_ = {
            id_: one.percent
            for id_, one in self.skills.items()
            if one.percent is not None and not one.is_mastered
        }
        weak = [id_ for id_ in open_ if (open_[id_] or 0.0) < _GOOD_PERCENT]
        return tuple(sorted(weak, key=lambda id_: open_[id_] or 0.0)[:_WEAK])

    @property
    def needs_help(self) -> bool:
        """Whether the instructor should talk to this student."""
        is_low = self.percent < _ENOUGH_PERCENT
        return is_low or bool(self.held and self.percent < _GOOD_PERCENT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A misconception in the class.

    Attributes
    ----------
    shown, chances : int
        Over all students who showed it.
    students : int
        Who showed it at least once.
    holders : tuple of StudentResult
        Who shows it again and again.
    """

    misconception: Misconception
    shown: int
    chances: int
    students: int
    holders: tuple[StudentResult, ...]
    example: Showing


@dataclass(frozen=True, slots=True, kw_only=True)
class Teach:
    """Something to teach again next: what, how many need it, what to do."""

    what: str
    why: str
    concerned: int
    of: int
    do: str


def student_views(result: ClassResult) -> tuple[StudentView, ...]:
    """Tell how every graded student stands, the lowest total first."""
    found = [
        StudentView(
            student=student,
            percent=percent(student.total, student.out_of) or 0.0,
            skills=mastery_of(student, result.history.get(student.id, {})),
            shown=showings_of(student),
        )
        for student in result.graded
    ]
    return tuple(sorted(found, key=lambda one: (one.percent, one.student.id)))


def held_in(students: Sequence[StudentView]) -> tuple[Held, ...]:
    """Gather the misconceptions of a class, those that most students hold first."""
    found: defaultdict[str, list[tuple[StudentView, Showing]]] = defaultdict(list)
    for one in students:
        for showing in one.shown:
            found[showing.misconception.id].append((one, showing))
    everything = [
        Held(
            misconception=pairs[0][1].misconception,
            shown=sum(showing.shown for _, showing in pairs),
            chances=sum(showing.chances for _, showing in pairs),
            students=len(pairs),
            holders=tuple(one.student for one, showing in pairs if showing.is_held),
            # Of who holds it, if anybody does: a slip tells less.
            example=max(pairs, key=lambda pair: pair[1].is_held)[1],
        )
        for pairs in found.values()
    ]
    return tuple(
        sorted(
            everything,
            key=lambda one: (-len(one.holders), -one.shown, one.misconception.id),
        )
    )


def skill_means(students: Sequence[StudentView]) -> dict[str, float]:
    """Return the mean share of each skill over the students who tried it [%]."""
    found: defaultdict[str, list[float]] = defaultdict(list)
    for one in students:
        for id_, mastery in one.skills.items():
            if mastery.percent is not None:
                found[id_].append(mastery.percent)
    return {id_: sum(found[id_]) / len(found[id_]) for id_ in SKILLS if id_ in found}


def teach_next(
    students: Sequence[StudentView], held: Sequence[Held], faults: Sequence[FaultGroup]
) -> tuple[Teach, ...]:
    """Choose three things that most need to be taught again.

    Parameters
    ----------
    held : sequence of Held
        The most widespread first.
    faults : sequence of FaultGroup
        The lowest mark first.
    """
    kinds = [
        [_of_misconception(one, len(students)) for one in held if one.holders],
        _of_skills(students),
        [_of_fault(one) for one in _missed(faults)],
    ]
    # One of each kind first, so that a common misconception does not hide a weak skill.
    chosen = [kind.pop(0) for kind in kinds if kind]
    left = sorted((one for kind in kinds for one in kind), key=_widespread)
    chosen += left[: 3 - len(chosen)]
    return tuple(sorted(chosen, key=_widespread))


def _missed(faults: Sequence[FaultGroup]) -> list[FaultGroup]:
    """Return the faults that went badly, those that were missed most often first."""
    low = [one for one in faults if one.mean < _GOOD_PERCENT]
    return sorted(low, key=lambda one: (one.proved - one.count, one.mean))


def _widespread(one: Teach) -> float:
    return -one.concerned / one.of


def _of_misconception(one: Held, students: int) -> Teach:
    count = len(one.holders)
    return Teach(
        what=_(one.misconception.title),
        why=ngettext(
            "{count} of {of} students does so again and again",
            "{count} of {of} students do so again and again",
            count,
        ).format(count=count, of=students),
        concerned=count,
        of=students,
        do=_(one.misconception.cure),
    )


def _of_skills(students: Sequence[StudentView]) -> list[Teach]:
    """Return the weak skills, the weakest first."""
    means = skill_means(students)
    found = []
    for id_ in sorted(means, key=lambda id_: means[id_]):
        tried = [one.skills[id_] for one in students if id_ in one.skills]
        low = sum((one.percent or 0.0) < _ENOUGH_PERCENT for one in tried)
        if means[id_] >= _GOOD_PERCENT:
            continue
        skill = SKILLS[id_]
        found.append(
            Teach(
                what=_(skill.title),
                why=_(
                    "{mean} % of the marks on average; {low} of {of} students have "
                    "less than {enough} %"
                ).format(
                    mean=f"{means[id_]:.0f}",
                    low=low,
                    of=len(tried),
                    enough=f"{_ENOUGH_PERCENT:.0f}",
                ),
                concerned=low,
                of=len(tried),
                do=_(
                    "A student with this skill {means}. Practise it by {exercises}."
                ).format(means=_(skill.means), exercises=_of_kind(skill.kinds[0])),
            )
        )
    return found


def _of_kind(kind: str) -> str:
    if kind == "diagnosis":
        return _("whole diagnoses")
    return _("exercises of the kind “{kind}”").format(kind=_(kind.replace("-", " ")))


def _of_fault(one: FaultGroup) -> Teach:
    step = _(one.weakest_step.capitalize())
    do = _("Work one together; the weakest step was: {step}.").format(step=step)
    if one.named_instead:
        instead = _("Most often named instead: {cause}.")
        do = f"{do} {instead.format(cause=one.named_instead)}"
    return Teach(
        what=one.fault,
        why=_(
            "{mean} % of the marks on average; {missed} of {of} named another cause, "
            "or none"
        ).format(mean=f"{one.mean:.0f}", missed=one.count - one.proved, of=one.count),
        concerned=one.count - one.proved,
        of=one.count,
        do=do,
    )
