"""Which outcome every test has under every fault, and the plan that follows from it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from weakref import WeakValueDictionary

from generator.model.plan import Access, Plan, Proof, least_cost
from generator.model.plan_tree import State


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultChance:
    """A fault with its prior, the repair that cures it and where it lies."""

    id: str
    prior: float
    repair: str
    sections: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """A place of the vehicle, with the minutes to reach it, once."""

    id: str
    label: str
    minutes: float


# No slots: what is worked out once is kept beside the fields.
@dataclass(frozen=True, kw_only=True)
class Reasoning:
    """Which outcome every test has under every fault, and what everything takes.

    Attributes
    ----------
    faults : tuple of FaultChance
        The id of one that is none, where nothing is wrong, begins with ``nothing``.
    tests : tuple of str
    outcomes : tuple of tuple of str
        One row a fault, one word a test.
    sound : tuple of str
        What each test shows on a sound circuit, or what proves no cause because it was
        complained of.
    reading_minutes : tuple of float
        One a test, at its places.
    needs : tuple of tuple of str
        The places of each test.
    places : tuple of Site
    open : tuple of str
        Places that are open from the start.
    repair_minutes : mapping of str to float
        What is lost on each repair where it is the wrong one, with the way to its part.
    """

    faults: tuple[FaultChance, ...]
    tests: tuple[str, ...]
    outcomes: tuple[tuple[str, ...], ...]
    sound: tuple[str, ...]
    reading_minutes: tuple[float, ...]
    needs: tuple[tuple[str, ...], ...]
    places: tuple[Site, ...]
    open: tuple[str, ...]
    # A mapping has no hash. Tables that differ in it alone share theirs, and `_PLANS`
    # tells them apart by comparing.
    repair_minutes: Mapping[str, float] = field(hash=False)

    def __post_init__(self) -> None:
        if len(self.faults) != len(self.outcomes):
            raise ValueError("reasoning needs one row of outcomes a fault")
        lengths = {len(self.sound), len(self.reading_minutes), len(self.needs)}
        if lengths != {len(self.tests)}:
            raise ValueError("reasoning needs sound, minutes and places of every test")
        named = {place for needs in (*self.needs, self.open) for place in needs}
        if not named <= {place.id for place in self.places}:
            raise ValueError("reasoning needs the minutes of every place")
        if not self.repair_minutes.keys() >= {fault.repair for fault in self.faults}:
            raise ValueError("reasoning needs the minutes of every repair")

    def __getstate__(self) -> dict[str, object]:
        """Leave out what is worked out: a plan holds all that its search has met."""
        return {each.name: getattr(self, each.name) for each in fields(self)}

    @cached_property
    def columns(self) -> tuple[tuple[str, ...], ...]:
        """The outcomes again: one row a test, one word a fault."""
        return tuple(zip(*self.outcomes, strict=True))

    def column(self, test: int, candidates: Iterable[int]) -> list[str]:
        """Outcomes of a test under some faults, both by number."""
        column = self.columns[test]
        return [column[candidate] for candidate in candidates]

    @cached_property
    def plan(self) -> Plan:
        """The least-cost plan; equal tables have one while anybody holds it."""
        plan = _PLANS.get(self)
        if plan is None:
            # Under a copy: this table holds the plan, and would keep it for ever.
            _PLANS[replace(self)] = plan = _new_plan(self)
        return plan

    def with_test(
        self,
        id_: str,
        column: Iterable[str],
        sound: str,
        minutes: float,
        needs: tuple[str, ...],
    ) -> Reasoning:
        """Put one more test behind the others, with its outcome under each fault."""
        rows = zip(self.outcomes, column, strict=True)
        return replace(
            self,
            tests=(*self.tests, id_),
            outcomes=tuple((*row, word) for row, word in rows),
            sound=(*self.sound, sound),
            reading_minutes=(*self.reading_minutes, minutes),
            needs=(*self.needs, needs),
        )

    @property
    def first_tests(self) -> tuple[str, ...]:
        """Every test with which a plan of the least minutes can begin."""
        return tuple(self.tests[number] for number in self.plan.best_tests(self.start))

    @property
    def start(self) -> State:
        """Where every search begins."""
        return self.plan.start

    def opened(self, state: State) -> tuple[Site, ...]:
        """The places that are open in a state."""
        return tuple(self.places[number] for number in state.open)


# All that a search has met is a megabyte or two, of some tables a hundred: kept for a
# workbook under way, and not for those before it.
_PLANS: WeakValueDictionary[Reasoning, Plan] = WeakValueDictionary()


def _new_plan(reasoning: Reasoning) -> Plan:
    number = {place.id: n for n, place in enumerate(reasoning.places)}
    faults = reasoning.faults
    return least_cost(
        [fault.prior for fault in faults],
        reasoning.outcomes,
        reasoning.reading_minutes,
        [fault.repair for fault in faults],
        reasoning.repair_minutes,
        Access(
            minutes=[place.minutes for place in reasoning.places],
            needs=[[number[id_] for id_ in needs] for needs in reasoning.needs],
            open=[number[id_] for id_ in reasoning.open],
        ),
        Proof(
            sound=reasoning.sound,
            # Where nothing is wrong no reading departs: its candidate is proved without
            # one.
            harmless=[n for n, f in enumerate(faults) if f.id.startswith("nothing")],
        ),
    )
