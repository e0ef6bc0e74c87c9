"""How hard faults, families and tests have proved to be, against what was predicted."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from statistics import fmean


@dataclass(frozen=True, slots=True, kw_only=True)
class Observed:
    """What graded classes have lost beyond what was predicted for them.

    All in percent of an exercise's marks, on average over the students of all classes;
    what is not named has lost as much as was predicted.

    Attributes
    ----------
    after : tuple of str
        Ids of the sets that it was observed in.
    faults, families : mapping of str to float
        By id.
    tests : mapping of str to float
        By id, of an exercise all of whose planned tests it is.
    """

    after: tuple[str, ...] = ()
    faults: Mapping[str, float] = field(default_factory=dict, hash=False)
    families: Mapping[str, float] = field(default_factory=dict, hash=False)
    tests: Mapping[str, float] = field(default_factory=dict, hash=False)

    def percent(self, fault: str, family: str, planned: Iterable[str]) -> float:
        """What an exercise is harder than is predicted [% of its marks].

        Examples
        --------
        >>> observed = Observed(faults={"coil_open": 2.0}, tests={"drop_ground": 3.0})
        >>> observed.percent("coil_open", "fan", ["drop_ground", "coil_resistance"])
        3.5
        """
        tests = [self.tests.get(test, 0.0) for test in planned]
        by_test = fmean(tests) if tests else 0.0
        named = self.faults.get(fault, 0.0), self.families.get(family, 0.0)
        return math.fsum((*named, by_test))


NOTHING = Observed()
"""Where nothing was observed yet."""
