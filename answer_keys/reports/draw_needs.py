"""What the set after this one should practise: weak faults and skills first; pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from statistics import fmean

from answer_keys.gradebook.results import ClassResult, GradedExercise
from answer_keys.needs import Need, Needs
from answer_keys.reports.skills import SKILLS, history_of, mastery_of

# As for a skill: four fifths of the marks are a fault that is known.
_GOOD_FRAC = 0.8


def needs_after(result: ClassResult) -> Needs:
    """Tell what a class should practise after a set that was graded."""
    mastery = {
        student.id: mastery_of(student, result.history.get(student.id, {}))
        for student in result.graded
    }
    shares: defaultdict[str, list[float]] = defaultdict(list)
    for one in mastery.values():
        for skill, each in one.items():
            if not each.is_mastered:
                shares[skill].append(each.percent or 0.0)
    return Needs(
        after=result.set_id,
        students={
            student.id: _need(
                student.exercises,
                {
                    skill: one.percent or 0.0
                    for skill, one in mastery[student.id].items()
                    if not one.is_mastered
                },
            )
            for student in result.graded
        },
        whole=_need(
            [one for student in result.graded for one in student.exercises],
            {
                skill: fmean(some)
                for skill, some in shares.items()
                # Practised by all where half of the class has need of it.
                if 2 * len(some) >= len(mastery)
            },
        ),
        history={id_: history_of(one) for id_, one in mastery.items()},
    )


def _need(
    exercises: Iterable[GradedExercise], open_skills: Mapping[str, float]
) -> Need:
    found: defaultdict[str, list[float]] = defaultdict(list)
    for one in exercises:
        if not one.outline.has_questions:
            # Whose cause was not found is to be practised, whatever its other steps
            # earned.
            found[one.outline.fault].append(one.share if one.is_cause_right else 0.0)
    means = {fault: fmean(some) for fault, some in found.items()}
    ordered = sorted(means, key=lambda fault: (means[fault], fault))
    weakest = sorted(open_skills, key=lambda skill: open_skills[skill])
    return Need(
        faults=tuple(fault for fault in ordered if means[fault] < _GOOD_FRAC),
        kinds=_question_kinds(weakest),
        known=tuple(fault for fault in ordered if means[fault] >= _GOOD_FRAC),
    )


def _question_kinds(skills: Sequence[str]) -> tuple[str, ...]:
    """Return the kinds of questions that practise skills, in their order."""
    kinds = (SKILLS[skill].kinds[0] for skill in skills)
    return tuple(dict.fromkeys(kind for kind in kinds if kind != "diagnosis"))
