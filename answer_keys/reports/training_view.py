"""What many classes tell of faults, tests, families and lessons; pure.

How hard something is, is what is lost beyond the prediction, found by a mixed model in
which classes and students are groups of their own: so a fault is not hard because weak
classes have met it, and of a small class or a rare fault no more is said than it shows.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import replace
from statistics import fmean, quantiles

from answer_keys.misconceptions import MISCONCEPTIONS
from answer_keys.observed import Observed
from answer_keys.reports.evidence import Diagnosis, Evidence, Finding
from answer_keys.reports.general_names import fault_name, test_name
from answer_keys.reports.mixed_model import MixedFit, fit_mixed
from answer_keys.reports.odds import Counts, mantel_haenszel
from answer_keys.reports.statistics import ENOUGH, Estimate, proportion
from answer_keys.reports.training_figures import (
    ClassStanding,
    Hard,
    TrainingView,
    Unequal,
    Widespread,
)
from answer_keys.weights import DEFAULT_WEIGHTS

# Fewer of them tell nothing of how far they differ.
_FEWEST = 3
# Of the marks of an exercise, what all its findings carry.
_OF_FINDINGS = DEFAULT_WEIGHTS.findings / sum(DEFAULT_WEIGHTS.model_dump().values())
# Students of like ability: thirds by their other exercises.
_PARTS = 3


def training_view(classes: Sequence[Evidence]) -> TrainingView:
    """Fit what many classes tell, in the language spoken."""
    tests, points = _tests(classes)
    met = [(n, one) for n, each in enumerate(classes) for one in each.diagnoses]
    found = _Diagnoses(met, points)
    faults = found.hard("fault", lambda one: fault_name(one.fault, one.cause))
    families = found.hard("family", lambda one: one.family.replace("-", " "))
    standing = sorted(
        (
            ClassStanding(evidence=each, beyond=found.of_class(number))
            for number, each in enumerate(classes)
        ),
        key=lambda one: (-one.beyond.value if one.beyond else 0.0, one.evidence.name),
    )
    return TrainingView(
        classes=tuple(standing),
        faults=faults,
        families=families,
        tests=tests,
        unequal=tuple(_unequal(met)),
        misconceptions=tuple(_widespread(classes)),
        observed=Observed(
            after=tuple(sorted({each.set_id for each in classes})) if faults else (),
            faults=_rounded({one.id: one.beyond.value for one in faults}),
            families=_rounded({one.id: one.beyond.value for one in families}),
            tests=_rounded(points if faults else {}),
        ),
    )


def _rounded(points: dict[str, float]) -> dict[str, float]:
    """Hundredths of a percent: what no processor rounds otherwise."""
    # Plus nought, because a minus nought would be written as -0.0.
    return {id_: round(value, 2) + 0.0 for id_, value in sorted(points.items())}


def _numbered(keys: Iterable[Hashable]) -> tuple[list[int], list[Hashable]]:
    """Number keys as they come; give the numbers, and the keys in their order."""
    known = dict[Hashable, int]()
    numbers = [known.setdefault(key, len(known)) for key in keys]
    return numbers, list(known)


class _Diagnoses:
    """All diagnoses of a school and the model fitted to what they lost."""

    def __init__(
        self, met: Sequence[tuple[int, Diagnosis]], points: dict[str, float]
    ) -> None:
        self._met = met
        self._groups = {
            "fault": _numbered(one.fault for _, one in met),
            "family": _numbered(one.family for _, one in met),
            "class": _numbered(number for number, _ in met),
        }
        by_test = Observed(tests=points)
        # What was predicted, with what the tests of its plan have shown to cost.
        self._predicted = [
            one.predicted_percent + by_test.percent("", "", one.planned)
            for _, one in met
        ]
        self._fit: MixedFit | None = None
        if len(self._groups["fault"][1]) >= _FEWEST and len(met) >= ENOUGH:
            self._fit = fit_mixed(
                [
                    one.lost_percent - predicted
                    for (_, one), predicted in zip(met, self._predicted, strict=True)
                ],
                {kind: numbers for kind, (numbers, _) in self._groups.items()},
                _numbered((number, one.student) for number, one in met)[0],
            )

    def hard(self, kind: str, name: Callable[[Diagnosis], str]) -> tuple[Hard, ...]:
        """Tell how hard each group of a kind is, the hardest first."""
        if self._fit is None:
            return ()
        members = defaultdict[int, list[int]](list)
        for place, number in enumerate(self._groups[kind][0]):
            members[number].append(place)
        found = []
        for number, places in members.items():
            predicted = fmean(self._predicted[place] for place in places)
            first = self._met[places[0]][1]
            found.append(
                Hard(
                    id=str(self._groups[kind][1][number]),
                    title=name(first),
                    count=len(places),
                    classes=len({self._met[place][0] for place in places}),
                    lost=self._fit.expected(kind, number, predicted),
                    beyond=self._fit.effect(kind, number),
                )
            )
        return tuple(sorted(found, key=lambda one: (-one.lost.value, one.id)))

    def of_class(self, number: int) -> Estimate | None:
        """What a class loses beyond the average one."""
        numbers = self._groups["class"][1]
        if self._fit is None or number not in numbers:
            return None
        return self._fit.effect("class", numbers.index(number))


def _tests(
    classes: Sequence[Evidence],
) -> tuple[tuple[Hard, ...], dict[str, float]]:
    """How hard tests are to read, and what that costs of an exercise [% of its marks].

    The cost is that of an exercise which has no other test.
    """
    made = [(n, one) for n, each in enumerate(classes) for one in each.findings]
    numbers, ids = _numbered(one.test for _, one in made)
    if len(ids) < _FEWEST or len(made) < ENOUGH:
        return (), {}
    fit = fit_mixed(
        [one.lost_percent for _, one in made],
        {"test": numbers, "class": _numbered(number for number, _ in made)[0]},
        _numbered((number, one.student) for number, one in made)[0],
    )
    members = defaultdict[int, list[tuple[int, Finding]]](list)
    for number, one in zip(numbers, made, strict=True):
        members[number].append(one)
    found = [
        Hard(
            id=some[0][1].test,
            title=test_name(some[0][1].test, some[0][1].title),
            count=len(some),
            classes=len({place for place, _ in some}),
            lost=fit.expected("test", number),
            beyond=fit.effect("test", number),
        )
        for number, some in members.items()
    ]
    hardest = tuple(sorted(found, key=lambda one: (-one.lost.value, one.id)))
    return hardest, {one.id: _OF_FINDINGS * one.beyond.value for one in hardest}


def _unequal(met: Sequence[tuple[int, Diagnosis]]) -> Iterator[Unequal]:
    """Compare each fault in each load with the same fault in all others."""
    from scipy.stats import false_discovery_control

    abilities = _thirds(met)
    of_fault = defaultdict[str, list[tuple[int, Diagnosis]]](list)
    for pair in met:
        of_fault[pair[1].fault].append(pair)
    found = [
        _compared(family, some, abilities)
        for some in of_fault.values()
        for family in _compared_families(some)
    ]
    tried = [one for one in found if one.odds]
    # Of many that are alike, one in twenty would seem unequal by chance.
    values = [one.odds.p_value for one in tried if one.odds]
    held = false_discovery_control(values) if values else []
    told = [
        replace(one, p_value=float(p_value))
        for one, p_value in zip(tried, held, strict=True)
    ]
    yield from sorted(told, key=lambda one: (one.p_value, one.title, one.family))


def _compared_families(some: Sequence[tuple[int, Diagnosis]]) -> list[str]:
    """Loads to look at; of two one is enough, since the other is its mirror."""
    families = sorted({one.family for _, one in some})
    return families if len(families) > 2 else families[1:]


def _thirds(met: Sequence[tuple[int, Diagnosis]]) -> dict[int, int]:
    """In which third a student is by the other diagnoses, by those of a diagnosis.

    Who has no other is left out: nothing tells what they can do.
    """
    own = defaultdict[tuple[int, int], list[Diagnosis]](list)
    for number, one in met:
        own[number, one.student].append(one)
    rest = {
        id(one): fmean(each.lost_percent for each in some if each is not one)
        for some in own.values()
        if len(some) > 1
        for one in some
    }
    if len(rest) < _PARTS:
        return {}
    cuts = quantiles(rest.values(), n=_PARTS)
    return {key: sum(value > cut for cut in cuts) for key, value in rest.items()}


def _compared(
    family: str, some: Sequence[tuple[int, Diagnosis]], abilities: dict[int, int]
) -> Unequal:
    counts = Counter(
        (abilities[id(one)], one.family == family, one.is_right)
        for _, one in some
        if id(one) in abilities
    )
    strata = [
        Counts(
            right=counts[part, True, True],
            wrong=counts[part, True, False],
            other_right=counts[part, False, True],
            other_wrong=counts[part, False, False],
        )
        for part in range(_PARTS)
    ]
    of = sum(one.right + one.wrong for one in strata)
    other_of = sum(one.other_right + one.other_wrong for one in strata)
    first = some[0][1]
    return Unequal(
        title=fault_name(first.fault, first.cause),
        family=family.replace("-", " "),
        right=sum(one.right for one in strata),
        of=of,
        other_right=sum(one.other_right for one in strata),
        other_of=other_of,
        odds=mantel_haenszel(strata) if min(of, other_of) >= ENOUGH else None,
    )


def _widespread(classes: Sequence[Evidence]) -> Iterator[Widespread]:
    shown, chances = Counter[tuple[str, str]](), Counter[tuple[str, str]]()
    where = Counter[tuple[str, str]]()
    for each in classes:
        for key, one in each.misconceptions.items():
            shown[key] += one.shown
            chances[key] += one.chances
            where[key] += bool(one.shown)
    found = [
        Widespread(
            misconception=MISCONCEPTIONS[id_],
            lesson=lesson,
            shown=count,
            chances=chances[lesson, id_],
            share=proportion(count, chances[lesson, id_]),
            classes=where[lesson, id_],
        )
        for (lesson, id_), count in shown.items()
        if count
    ]
    yield from sorted(
        found, key=lambda one: (one.lesson, -one.share.low, one.misconception.id)
    )
