"""The words that readings of a set-up are sorted into, and whether they can be told.

The expected band is what a sound circuit reads, plus or minus a number of standard
uncertainties from tolerances and instrument (JCGM 100:2008, eq. 10). Bands are laid
where no cause lies near their edges, if there is such a place: a reading that
tolerances turn into another word with more than 1 % probability cannot be told.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product

OVER_LIMIT = "over limit"
SUPPLY = "supply voltage"
NONE = "none"

WORDS = {
    "volts": (NONE, "low", "expected", "high", SUPPLY, "reversed", OVER_LIMIT),
    "clamp": (NONE, "low", "expected", "high", "reversed", OVER_LIMIT),
    "ohms": ("low", "expected", "high", OVER_LIMIT),
    "scope": (NONE, "expected", "high"),
}
"""Words on offer, by instrument, whatever the circuit."""

RISK = 0.01
"""Largest probability that tolerances turn an outcome into another."""
_PULL_IN_GAP = 0.15
# Tried in turn, and the first is kept by which no cause lies near an edge: how many
# standard uncertainties the expected band has on either side, and below which part of
# what is expected a reading counts as none.
_COVERAGES = (4.0, 5.0, 6.5, 8.0, 3.3)
_NONE_FRACS = (0.08, 0.04, 0.16, 0.25)
_NO_FEED_V = 0.5
_FULL_SUPPLY_FRAC = 0.85
_NO_DROP_V = 0.0005
# A terminal that moves by less than this share of the supply does not switch.
_STILL_FRAC = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """What there is to be measured.

    Parameters
    ----------
    value : float
        [V], [A] or [Ω]; infinite where an ohmmeter sees no path.
    tolerance_u : float
        Standard uncertainty of it from the tolerances of the circuit.
    live_v : float
        Voltage that an ohmmeter is put on [V].
    is_floating : bool
        Whether nothing but the voltmeter joins its two points.
    coil_frac : float
        Coil current over the pull-in current.
    blown : tuple of str
        Leads and jumpers whose fuse opened at once.
    """

    value: float
    tolerance_u: float = 0.0
    live_v: float = 0.0
    is_floating: bool = False
    coil_frac: float = math.inf
    blown: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Outcome words and the edges between them, in ascending order.

    ``sign`` is -1 where a sound circuit reads below nothing; ``band`` is the expected
    band, where there is one.
    """

    words: tuple[str, ...]
    edges: tuple[float, ...]
    sign: int = 1
    band: tuple[float, float] | None = None

    def word(self, value: float) -> str:
        """Outcome word of a value."""
        return self.words[bisect_right(self.edges, self.sign * value)]

    def risk(self, value: float, uncertainty: float) -> float:
        """Probability that tolerances turn a value into another word."""
        # An endless resistance lies far above every edge.
        own = self.sign * value if math.isfinite(value) else 1e12
        # A normal distribution's tail beyond an edge is erfc(distance / (u √2)) / 2.
        width = max(uncertainty, 1e-12) * math.sqrt(2)
        return sum(0.5 * math.erfc(abs(own - edge) / width) for edge in self.edges)


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What an instrument sees, and its standard uncertainty with all that counts."""

    truth: Truth
    uncertainty: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What of circuit and instrument sets edges.

    Parameters
    ----------
    supply_v : float
    end : float
        Above this the instrument shows nothing but ``OL``, in the base unit.
    zero_u : float
        Standard uncertainty of the instrument at nothing.
    spike_v : float
        Largest voltage behind a coil that counts as suppressed.
    """

    supply_v: float
    end: float
    zero_u: float
    spike_v: float


def scale_for(
    instrument: str, sound: Seen, causes: Sequence[Seen], limits: Limits
) -> tuple[Scale, bool]:
    """Lay the bands of a set-up; tell whether every cause can be told by them."""
    is_near = any(abs(each.truth.coil_frac - 1) < _PULL_IN_GAP for each in causes)
    for coverage, none_frac in product(_COVERAGES, _NONE_FRACS):
        scale = _scale(instrument, sound, limits, (coverage, none_frac))
        if not is_near and not any(_is_unsure(scale, each) for each in causes):
            return scale, True
    return _scale(instrument, sound, limits, (_COVERAGES[0], _NONE_FRACS[0])), False


def _is_unsure(scale: Scale, seen: Seen) -> bool:
    if seen.truth.blown:
        return False
    return scale.risk(seen.truth.value, seen.uncertainty) > RISK


def _scale(
    instrument: str, sound: Seen, limits: Limits, choice: tuple[float, float]
) -> Scale:
    lay = {"volts": _volts, "clamp": _clamp, "ohms": _ohms, "scope": _scope}
    return lay[instrument](sound, limits, choice)


def _volts(sound: Seen, limits: Limits, choice: tuple[float, float]) -> Scale:
    coverage, none_frac = choice
    value, full_v = sound.truth.value, _FULL_SUPPLY_FRAC * limits.supply_v
    size, sign = abs(value), -1 if value < 0 else 1
    half = coverage * sound.uncertainty
    # Where a sound circuit has the whole supply, nothing can be higher, and what lies
    # between is the feed gone low.
    if size >= full_v:
        # A vehicle's supply may lie above the nominal one.
        told = [(_NO_FEED_V, NONE), (full_v, "low"), (math.inf, SUPPLY)]
        band = (full_v, max(limits.supply_v, size + half))
        return _laid(told, -_NO_FEED_V, limits.end, sign, band)
    # Three uncertainties of the instrument at nothing: no smaller reading is told from
    # it.
    if size < max(_NO_DROP_V, 3 * limits.zero_u):
        told = [(_NO_FEED_V, NONE), (full_v, "high"), (math.inf, SUPPLY)]
        return _laid(told, -_NO_FEED_V, limits.end, 1, (0.0, _NO_FEED_V))
    none = max(_NO_DROP_V, none_frac * size)
    low, high = size - half, size + half
    told = [(none, NONE), (low, "low"), (high, "expected"), (full_v, "high")]
    told.append((math.inf, SUPPLY))
    return _laid(told, -none, limits.end, sign, (max(low, none), high))


def _clamp(sound: Seen, limits: Limits, choice: tuple[float, float]) -> Scale:
    coverage, none_frac = choice
    value, half = sound.truth.value, coverage * sound.uncertainty
    size, sign = abs(value), -1 if value < 0 else 1
    # As for volts; an expected current needs room for "low" above none.
    least = 3 * limits.zero_u
    if size < 2 * least:
        told = [(2 * least, NONE), (math.inf, "high")]
        return _laid(told, -2 * least, limits.end, 1, (0.0, 2 * least))
    none = max(least, none_frac * size)
    low, high = size - half, size + half
    told = [(none, NONE), (low, "low"), (high, "expected"), (math.inf, "high")]
    return _laid(told, -none, limits.end, sign, (max(low, none), high))


def _ohms(sound: Seen, limits: Limits, choice: tuple[float, float]) -> Scale:
    coverage, _ = choice
    value, half = sound.truth.value, coverage * sound.uncertainty
    if value > limits.end:
        # Where no path is expected, any is less than there should be.
        return Scale(words=("low", OVER_LIMIT), edges=(limits.end,))
    low, high = value - half, value + half
    told = [(low, "low"), (high, "expected"), (math.inf, "high")]
    return _laid(told, None, limits.end, 1, (max(low, 0.0), high))


def _scope(sound: Seen, limits: Limits, choice: tuple[float, float]) -> Scale:
    still = _STILL_FRAC * limits.supply_v
    value, half = sound.truth.value, choice[0] * sound.uncertainty
    if value < still:
        return Scale(words=(NONE, "high"), edges=(still,), band=(0.0, still))
    high = max(limits.spike_v, value + half)
    return Scale(
        words=(NONE, "expected", "high"), edges=(still, high), band=(still, high)
    )


def _laid(
    told: Sequence[tuple[float, str]],
    reversed_below: float | None,
    end: float,
    sign: int,
    band: tuple[float, float],
) -> Scale:
    """Put words in order of their upper ends; one that is left no room falls out."""
    words, edges = list[str](), list[float]()
    if reversed_below is not None:
        words.append("reversed")
        edges.append(reversed_below)
    for upper, word in _rising(told, edges[-1] if edges else 0.0, end):
        words.append(word)
        edges.append(upper)
    if end < math.inf:
        words.append(OVER_LIMIT)
    else:
        edges.pop()
    return Scale(words=tuple(words), edges=tuple(edges), sign=sign, band=band)


def _rising(
    told: Iterable[tuple[float, str]], least: float, end: float
) -> Iterator[tuple[float, str]]:
    for upper, word in told:
        if upper > least:
            yield min(upper, end), word
            least = upper
        if upper >= end:
            return
