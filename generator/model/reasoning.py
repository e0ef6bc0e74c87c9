"""Which outcome every test has under every fault, and the plan that follows from it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache

from generator.model.plan import Plan, least_cost


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultChance:
    """A fault with its prior, the repair that cures it and where it lies."""

    id: str
    prior: float
    repair: str
    sections: tuple[str, ...]


# No slots: what is worked out once is kept beside the fields.
@dataclass(frozen=True, kw_only=True)
class Reasoning:
    """Which outcome every test has under every fault, and what everything takes.

    Attributes
    ----------
    minutes : tuple of float
        One a test.
    outcomes : tuple of tuple of str
        One row a fault, one word a test.
    repair_minutes : mapping of str to float
        What is lost on each repair where it is the wrong one.
    """

    faults: tuple[FaultChance, ...]
    tests: tuple[str, ...]
    minutes: tuple[float, ...]
    outcomes: tuple[tuple[str, ...], ...]
    repair_minutes: Mapping[str, float] = field(hash=False)

    def __post_init__(self) -> None:
        if len(self.faults) != len(self.outcomes):
            raise ValueError("reasoning needs one row of outcomes a fault")
        if not self.repair_minutes.keys() >= {fault.repair for fault in self.faults}:
            raise ValueError("reasoning needs the minutes of every repair")

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
        """The least-cost plan; equal tables are searched once."""
        return _plan(self)

    @property
    def first_tests(self) -> tuple[str, ...]:
        """Every test with which a plan of the least minutes can begin."""
        best = self.plan.best_tests(range(len(self.faults)))
        return tuple(self.tests[number] for number in best)


@lru_cache(maxsize=64)  # a megabyte or two each
def _plan(reasoning: Reasoning) -> Plan:
    return least_cost(
        [fault.prior for fault in reasoning.faults],
        reasoning.outcomes,
        reasoning.minutes,
        [fault.repair for fault in reasoning.faults],
        reasoning.repair_minutes,
    )
