"""One set-up on all circuits of an exercise: what it reads, and what that splits."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from workbook.measuring.bands import (
    OVER_LIMIT,
    Limits,
    Scale,
    Seen,
    Truth,
    scale_for,
)
from workbook.measuring.instruments import (
    OVER,
    Errors,
    clamp_display,
    clamp_of,
    clamp_u,
    errors_at,
    live_display,
    meter_display,
    meter_of,
    meter_u,
    scope_shown_v,
    scope_u,
)
from workbook.measuring.set_up import code_of, set_up_of
from workbook.measuring.settling import circuits_of
from workbook.measuring.truth import truth_of
from workbook.record.bench import PROVES_NOTHING, Bench, Case, Instruments, Model, Pair
from workbook.record.set_up import SetUp

# An ohmmeter on less than this is on a dead part [V].
_DEAD_V = 1e-3
_BEFORE_SWITCH = ("supply", "fed", "load_fuse_out", "30")


@dataclass(frozen=True, slots=True, kw_only=True)
class Split:
    """What a set-up shows.

    Parameters
    ----------
    outcomes : tuple of str, length n_causes
        Its word under each cause: that it proves nothing where it misleads, or where
        causes lie too near an edge; with what a fuse is like that is out, where that
        tells causes apart.
    seeming : tuple of str, length n_causes
        What it would be taken for.
    sound, outcome : str
        Its word on a sound circuit, and on this vehicle.
    truth : Truth
        Of this vehicle.
    display : str
        What the instrument shows on it.
    seen_fuse : str
        What there is to see at a fuse that is out; empty where none is.
    seen_words : tuple of str
        Words of a reading that proves nothing, and of a fuse that tells causes apart;
        empty where none does.
    misleading : tuple of str
        Ids of what makes the reading mislead, so that it proves nothing.
    is_sure : bool
        Whether all causes can be told by its bands.
    """

    outcomes: tuple[str, ...]
    seeming: tuple[str, ...]
    sound: str
    outcome: str
    scale: Scale
    truth: Truth
    display: str
    seen_fuse: str
    seen_words: tuple[str, ...]
    misleading: tuple[str, ...]
    is_sure: bool


@lru_cache(maxsize=256)
def split_of(bench: Bench, code: str) -> Split:
    """Measure a set-up on every circuit.

    Parameters
    ----------
    bench : Bench
        With its model.
    code : str
        As `workbook.measuring.set_up.code_of` writes it.
    """
    set_up, model = set_up_of(code, bench), bench.known
    circuits, hand = circuits_of(model), model.instruments
    healthy = Pair(calm=Case())
    sound, actual, *causes = (
        truth_of(circuits, pair, set_up)
        for pair in (healthy, model.actual, *model.causes)
    )
    seen = [_seen(hand, set_up, each) for each in (sound, *causes)]
    limits = _limits(model, set_up)
    scale, is_sure = scale_for(set_up.instrument, seen[0], seen[1:], limits)
    misleading = tuple(_misleading(bench, set_up, sound, (actual, *causes)))
    fuses = [_fuse(model, pair, set_up) for pair in model.causes]
    words = [
        _word(scale, truth, fuse) for truth, fuse in zip(causes, fuses, strict=True)
    ]
    own_fuse = _fuse(model, model.actual, set_up)
    told = _word(scale, sound, ""), _word(scale, actual, own_fuse)
    # Tolerances may have brought this vehicle where the nominal circuit is not.
    is_sure = is_sure and told[1] == words[model.cause]
    seeming = tuple(words)
    is_telling = len({*fuses}) > 1
    if misleading or not is_sure:
        whole = _fuse(model, healthy, set_up)
        words = [_unread(fuse, is_telling=is_telling) for fuse in fuses]
        told = (
            _unread(whole, is_telling=is_telling),
            _unread(own_fuse, is_telling=is_telling),
        )
    return Split(
        outcomes=tuple(words),
        seeming=seeming,
        sound=told[0],
        outcome=told[1],
        scale=scale,
        truth=actual,
        display=_display(hand, set_up, actual, errors_at(hand, code_of(set_up))),
        seen_fuse=own_fuse,
        seen_words=tuple(sorted({*map(_unread, fuses)})) if is_telling else (),
        misleading=misleading,
        # What misleads is told as such, and not as too near to an edge besides.
        is_sure=is_sure or bool(misleading),
    )


def _misleading(
    bench: Bench, set_up: SetUp, sound: Truth, others: tuple[Truth, ...]
) -> Iterator[str]:
    """Name what makes a set-up mislead, the worst first."""
    if set_up.instrument == "ohms":
        # Under any of the causes: nobody knows beforehand which of them it is.
        if any(abs(each.live_v) > _DEAD_V for each in (sound, *others)):
            yield "live"
        if _is_through_silicon(set_up, bench):
            yield "silicon"
    elif set_up.instrument == "clamp":
        if not set_up.has_wire(set_up.wire):
            yield "no wire"
        if set_up.zero == "not zeroed":
            yield "creeps"
        if set_up.back:
            yield "both wires"
    # By the sound circuit: what floats only where something is broken tells just that.
    elif sound.is_floating:
        yield "floating"


def _is_through_silicon(set_up: SetUp, bench: Bench) -> bool:
    """Whether a smart switch lies between the leads: one of them is before it."""
    before = [end in _BEFORE_SWITCH for end in (set_up.plus, set_up.minus)]
    return bench.is_smart and set_up.module == "in" and before[0] != before[1]


def _fuse(model: Model, pair: Pair, set_up: SetUp) -> str:
    """What there is to see at the fuses that are out; one that is not whole first."""
    looks = {**model.sound.fuses, **pair.calm.fuses}
    out = [looks[p] for p in set_up.out if p in looks]
    return next((look for look in out if look != "intact"), "intact" if out else "")


def _word(scale: Scale, truth: Truth, fuse: str) -> str:
    word = OVER_LIMIT if truth.blown else scale.word(truth.value)
    return word if fuse in ("", "intact") else f"{word}, fuse {fuse}"


def _unread(fuse: str, *, is_telling: bool = True) -> str:
    """Word of a reading that proves nothing: the fuse is seen whatever is read."""
    seen = "whole" if fuse == "intact" else fuse
    return f"{PROVES_NOTHING}, fuse {seen}" if is_telling else PROVES_NOTHING


def _seen(hand: Instruments, set_up: SetUp, truth: Truth) -> Seen:
    own = _instrument_u(hand, set_up, truth.value)
    return Seen(truth=truth, uncertainty=math.hypot(own, truth.tolerance_u))


def _instrument_u(hand: Instruments, set_up: SetUp, value: float) -> float:
    if set_up.instrument == "clamp":
        return clamp_u(clamp_of(hand, set_up), hand.volts, value)
    if set_up.instrument == "scope":
        return scope_u(hand.scope, value)
    return meter_u(meter_of(hand, set_up), value)


def _limits(model: Model, set_up: SetUp) -> Limits:
    hand = model.instruments
    end = math.inf
    if set_up.instrument == "clamp":
        end = clamp_of(hand, set_up).range_a
    elif set_up.instrument != "scope":
        end = meter_of(hand, set_up).ranges[-1].end
    return Limits(
        supply_v=model.sound.value["supply_v"],
        end=end,
        zero_u=_instrument_u(hand, set_up, 0.0),
        spike_v=model.constants["spike_limit_v"],
    )


def _display(hand: Instruments, set_up: SetUp, truth: Truth, errors: Errors) -> str:
    if set_up.instrument == "clamp":
        clamp = clamp_of(hand, set_up)
        if not set_up.has_wire(set_up.wire):
            return clamp_display(clamp, hand.volts, 0.0, errors)
        return clamp_display(clamp, hand.volts, truth.value, errors)
    if set_up.instrument == "scope":
        return f"{scope_shown_v(hand.scope, truth.value, errors):.3g} V"
    meter = meter_of(hand, set_up)
    if set_up.instrument == "ohms":
        if not math.isfinite(truth.value):
            return OVER
        return live_display(meter, truth.value, truth.live_v, errors)
    return meter_display(meter, truth.value, errors)
