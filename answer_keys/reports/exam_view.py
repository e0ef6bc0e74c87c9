"""How good the exercises of a set are as an examination; pure.

An item is a whole exercise: all that plant the same fault of a lesson, or ask the same
kind of questions. Below `ENOUGH` students a figure has no interval, and no verdict.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import fmean

import numpy as np

from answer_keys.gradebook.results import ClassResult, GradedExercise, StudentResult
from answer_keys.reports.general_names import fault_name
from answer_keys.reports.statistics import (
    ENOUGH,
    Estimate,
    Spread,
    fit_rasch,
    item_rest,
    length_factor,
    proportion,
    reliability,
    spread,
)
from workbook.texts import _

# As for a skill: so a slip or two in an exercise of questions pass.
_GOOD = 0.8
# A tenth of all marks is a grade in many schools (common practice, no source).
_UNEQUAL_SD = 0.10
# Alpha of an everyday class test, and of one whose grade counts (common practice).
_WANTED = (0.70, 0.80)
# From how much on a correlation with the rest is called what (Ebel and Frisbie,
# Essentials of Educational Measurement, 5th ed. 1991, from a copy).
_VERDICTS = (
    (0.4, "very good"),
    (0.3, "good"),
    (0.2, "look at it"),
    (0.0, "revise it"),
    (-1.0, "check its key first"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """All exercises of one kind.

    Attributes
    ----------
    right_frac, mean_frac : float
        Part of the students who got it right, and their mean share of its marks.
    right : Estimate or None
        None with too few students, as all below.
    discrimination : Estimate or None
        Correlation of its marks with those of the student's other exercises.
    difficulty, difficulty_error : float or None
        On the scale of Rasch, in standard deviations of the students.
    """

    title: str
    lesson: str
    students: int
    right_frac: float
    mean_frac: float
    right: Estimate | None = None
    discrimination: Estimate | None = None
    difficulty: float | None = None
    difficulty_error: float | None = None

    @property
    def verdict(self) -> str:
        """What its discrimination says of it."""
        if self.discrimination is None:
            return _("not enough data")
        value = self.discrimination.value
        return _(next(words for least, words in _VERDICTS if value >= least))


@dataclass(frozen=True, slots=True, kw_only=True)
class Reliability:
    """How far the totals would come out the same with other exercises.

    Attributes
    ----------
    alpha : Estimate or None
        None with too few students.
    needed : tuple of (float, float)
        A reliability, and with how many such exercises it would be reached.
    """

    students: int
    exercises: int
    alpha: Estimate | None
    needed: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """How often one variant was right."""

    name: str
    right: int
    of: int
    estimate: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """The same fault planted in different loads, which should be equally hard."""

    title: str
    parts: tuple[Part, ...]
    spread: Spread

    @property
    def is_enough(self) -> bool:
        """Whether every variant had enough students."""
        return all(part.of >= ENOUGH for part in self.parts)

    @property
    def is_unequal(self) -> bool:
        """Whether they differ by more than chance brings."""
        return self.is_enough and self.spread.sd > _UNEQUAL_SD


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamView:
    """All of it."""

    items: tuple[Item, ...]
    reliability: Reliability
    families: tuple[Family, ...]


def exam_view(result: ClassResult) -> ExamView:
    """Compute item statistics, reliability, and which families are unequal."""
    groups: defaultdict[tuple[str, str], dict[int, list[GradedExercise]]]
    groups = defaultdict(lambda: defaultdict(list))
    for number, student in enumerate(result.graded):
        for one in student.exercises:
            groups[_group(one)][number].append(one)
    items = [_item(group, result.graded) for group in groups.values()]
    hardest = sorted(
        _on_one_scale(items, list(groups.values()), len(result.graded)),
        key=lambda item: (item.mean_frac, item.title),
    )
    return ExamView(
        items=tuple(hardest),
        reliability=_reliability(result.graded),
        families=tuple(_families(groups.values())),
    )


def _group(one: GradedExercise) -> tuple[str, str]:
    about = one.outline
    return about.lesson, about.kind if about.has_questions else about.fault


def _is_right(one: GradedExercise) -> bool:
    """Whether a cause was proved; of questions, whether nearly all were right."""
    return one.share >= _GOOD if one.outline.has_questions else one.is_cause_right


def _item(
    members: Mapping[int, Sequence[GradedExercise]], students: Sequence[StudentResult]
) -> Item:
    all_of_it = [one for some in members.values() for one in some]
    about, count = all_of_it[0].outline, len(members)
    shares = {n: fmean(one.share for one in some) for n, some in members.items()}
    # Who had it more than once counts by the first time.
    right = sum(_is_right(some[0]) for some in members.values())
    is_enough = count >= ENOUGH
    title = about.kind.replace("-", " ")
    return Item(
        title=_("Questions: {kind}").format(kind=_(title))
        if about.has_questions
        else fault_name(about.fault, about.cause),
        lesson=about.lesson.replace("-", " "),
        students=count,
        right_frac=right / count,
        mean_frac=fmean(shares.values()),
        right=proportion(right, count) if is_enough else None,
        discrimination=_discrimination(shares, members, students)
        if is_enough
        else None,
    )


def _discrimination(
    shares: Mapping[int, float],
    members: Mapping[int, Sequence[GradedExercise]],
    students: Sequence[StudentResult],
) -> Estimate | None:
    pairs = []
    for number, share in shares.items():
        # The rest without the item itself, or each would agree with itself.
        mine = {id(one) for one in members[number]}
        rest = [o.share for o in students[number].exercises if id(o) not in mine]
        if rest:
            pairs.append((share, fmean(rest)))
    if len(pairs) < ENOUGH:
        return None
    return item_rest([one for one, _ in pairs], [rest for _, rest in pairs])


def _on_one_scale(
    items: Sequence[Item],
    groups: Sequence[Mapping[int, Sequence[GradedExercise]]],
    students: int,
) -> Iterator[Item]:
    """Add the difficulty on one scale to the items that many students had."""
    many = [n for n, item in enumerate(items) if item.right and 0 < item.right_frac < 1]
    if len(many) < 2:
        yield from items
        return
    right = np.full((students, len(many)), np.nan)
    for column, place in enumerate(many):
        for number, some in groups[place].items():
            right[number, column] = _is_right(some[0])
    fit = fit_rasch(right)
    for place, item in enumerate(items):
        if place not in many:
            yield item
            continue
        column = many.index(place)
        yield replace(
            item,
            difficulty=float(fit.difficulty[column]),
            difficulty_error=float(fit.error[column]),
        )


def _reliability(students: Sequence[StudentResult]) -> Reliability:
    """Take exercises as testlets: by what they are where all had the same."""
    rows = [{_group(one): one.share for one in s.exercises} for s in students]
    if len({frozenset(row) for row in rows}) > 1:
        rows = [
            {("", str(one.marks.exercise)): one.share for one in s.exercises}
            for s in students
        ]
    columns = sorted({column for row in rows for column in row})
    # Alpha compares sums, so that it takes students who had every item.
    whole = [[row[c] for c in columns] for row in rows if len(row) == len(columns)]
    alpha = None
    if len(whole) >= ENOUGH and len(columns) > 1:
        alpha = reliability(np.array(whole))
    # Spearman and Brown have no answer where alpha is not between 0 and 1.
    needed = [
        (wanted, len(columns) * length_factor(alpha.value, wanted))
        for wanted in _WANTED
        if alpha is not None and 0 < alpha.value < 1
    ]
    return Reliability(
        students=len(whole),
        exercises=len(columns),
        alpha=alpha,
        needed=tuple(needed),
    )


def _families(
    groups: Iterable[Mapping[int, Sequence[GradedExercise]]],
) -> Iterator[Family]:
    """Compare the loads in which the same fault was planted."""
    for members in groups:
        tries: defaultdict[str, list[bool]] = defaultdict(list)
        for some in members.values():
            about = some[0].outline
            if about.family and not about.has_questions:
                tries[about.family].append(some[0].is_cause_right)
        if len(tries) < 2:
            continue
        parts = [
            Part(
                name=name.replace("-", " "),
                right=sum(right),
                of=len(right),
                estimate=proportion(sum(right), len(right)),
            )
            for name, right in sorted(tries.items())
        ]
        yield Family(
            title=fault_name(about.fault, about.cause),
            parts=tuple(parts),
            spread=spread([p.right for p in parts], [p.of for p in parts]),
        )
