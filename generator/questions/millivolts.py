"""Current through a fuse from the millivolts across it, and what they cannot tell."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from generator.drawing.specification import Specification
from generator.drawing.stream import Stream
from generator.drawing.wording import short_text
from generator.model.fuses import COLD_OHM, SPREAD_FRAC, FuseType, current_from_drop
from generator.model.instruments import VOLTMETER, Errors
from generator.questions.question import Question, shown_v
from generator.questions.read_off import read_off, verdict
from workbook.texts import _, later

_ENOUGH = later("Yes, the millivolts are enough for that")
_SPREAD = later("No, fuses of one rating differ by more")
_COUNTS = later("No, the drop drowns in the meter's counts")
SIGNS: Mapping[str, str] = {
    _ENOUGH: later(
        "A drop of many counts shows where a current flows, and about how much."
    ),
    _SPREAD: later(
        "Fuses may be {percent} % off their table: no measure for a few percent."
    ),
    _COUNTS: later(
        "A drop of a count or two may be nothing: the meter is good to three counts."
    ),
}
"""What the drop across a fuse can tell, and why not more."""

# What one may want to know: in which fuse, and how many amperes there are to see.
# By the table above: drops of hundreds of counts, changes within the spread, and drops
# of one or two counts of 10 µV.
_TASKS: Mapping[str, tuple[tuple[str, float, float], ...]] = {
    _ENOUGH: (
        (later("which of ten fuses of {rating} A carries {amperes} at rest"), 10, 0.3),
        (
            later("whether a heater of {amperes} behind {rating} A runs at all"),
            20,
            11.0,
        ),
    ),
    _SPREAD: (
        (later("whether a coil at {rating} A draws {amperes}, or 5 % more"), 5, 0.16),
        (later("whether a fan at {rating} A draws {amperes}, or 8 % less"), 25, 14.0),
    ),
    _COUNTS: (
        (
            later("whether {amperes} flow at rest through a fuse of {rating} A"),
            30,
            0.008,
        ),
        (
            later("whether {amperes} flow through a fuse of {rating} A, or none"),
            20,
            0.005,
        ),
    ),
}
_TYPES: Mapping[FuseType, str] = {
    "standard": later("standard blade fuses"),
    "small": later("small blade fuses"),
}
_LEAST_FRAC, _MOST_FRAC = 0.12, 0.5


def millivolt_questions(
    specification: Specification, stream: Stream
) -> Iterator[Question]:
    """Ask for currents from drops, a drop from a current, and what drops can tell."""
    type_ = stream.choice(list(_TYPES))
    ratings = list(COLD_OHM[type_])
    # Not the first row: `fuse_row_missed` reads the one before it.
    rating_a = stream.choice(ratings[1:-1])
    # The fuse itself is off its table; what is right is what the table gives.
    fuse_ohm = COLD_OHM[type_][rating_a] * (
        1 + stream.uniform(-SPREAD_FRAC, SPREAD_FRAC)
    )
    current_a = rating_a * stream.uniform(_LEAST_FRAC, _MOST_FRAC)
    display = VOLTMETER.display(current_a * fuse_ohm, Errors())
    # Reckoned on from the digits that are shown, as a student does.
    drop_v = shown_v(display)
    found = _current((type_, rating_a), drop_v, display)
    yield replace(found, help=f"{_table(type_)} {found.help}")
    yield _highest(current_from_drop(drop_v, type_, rating_a))
    yield _display(specification, type_)
    yield _can_it(stream)


def _table(type_: FuseType) -> str:
    rows = "; ".join(
        f"{rating:g} A {ohm * 1000:g} mΩ" for rating, ohm in COLD_OHM[type_].items()
    )
    text = _("Cold {fuses}: {rows}; each ± {percent} %.")
    return text.format(
        fuses=_(_TYPES[type_]), rows=rows, percent=f"{100 * SPREAD_FRAC:g}"
    )


def _current(fuse: tuple[FuseType, float], drop_v: float, display: str) -> Question:
    type_, rating_a = fuse
    table = COLD_OHM[type_]
    current_a = current_from_drop(drop_v, type_, rating_a)
    ratings = list(table)
    below_a = ratings[ratings.index(rating_a) - 1]
    label = _("Current by the table, with {display} across a fuse of {rating} A")
    told = _("{display} ÷ {milliohms} mΩ is {amperes}.")
    return read_off(
        "fuse_current",
        (
            label.format(display=display, rating=f"{rating_a:g}"),
            _("Drop divided by the fuse's ohms."),
        ),
        (current_a, "A"),
        told.format(
            display=display,
            milliohms=f"{table[rating_a] * 1000:g}",
            amperes=short_text(current_a, "A"),
        ),
        {
            "fuse_row_missed": drop_v / table[below_a],
            "fuse_rating_as_current": rating_a,
        },
    )


def _highest(current_a: float) -> Question:
    most_a = current_a / (1 - SPREAD_FRAC)
    told = _("With {percent} % fewer ohms the same drop is {amperes}.")
    return read_off(
        "fuse_current_most",
        (
            _("The most that this drop can mean, by the spread of the fuse"),
            _("The same drop, and the fewest ohms that the fuse may have."),
        ),
        (most_a, "A"),
        told.format(percent=f"{100 * SPREAD_FRAC:g}", amperes=short_text(most_a, "A")),
        margin_frac=0.04,
    )


def _display(specification: Specification, type_: FuseType) -> Question:
    nominal = specification.nominal
    table = COLD_OHM[type_]
    # Not every rating of a load fuse is in the table: the nearest one.
    rating_a = min(table, key=lambda a: abs(a - nominal.load_fuse_rating_a))
    drop_v = nominal.load_rated_a * table[rating_a]
    label = _("What {amperes} of the {load} drop across a cold fuse of {rating} A")
    told = _("{amperes} × {milliohms} mΩ is {volts}.")
    amperes = short_text(nominal.load_rated_a, "A")
    return read_off(
        "fuse_drop",
        (
            label.format(
                amperes=amperes, load=specification.names.load, rating=f"{rating_a:g}"
            ),
            _("By the table above; a warm fuse drops more."),
        ),
        (drop_v, "V"),
        told.format(
            amperes=amperes,
            milliohms=f"{table[rating_a] * 1000:g}",
            volts=short_text(drop_v, "V"),
        ),
        {"millivolts_as_volts": 1000 * drop_v},
    )


def _can_it(stream: Stream) -> Question:
    case = stream.choice(list(SIGNS))
    task, rating_a, current_a = stream.choice(_TASKS[case])
    signs = {
        name: _(sign).format(percent=f"{100 * SPREAD_FRAC:g}")
        for name, sign in SIGNS.items()
    }
    drop = VOLTMETER.display(current_a * COLD_OHM["standard"][rating_a], Errors())
    label = _(
        "You want to know {task}. Across the fuse that is {display}. Can it be told?"
    )
    told = _(task).format(rating=f"{rating_a:g}", amperes=short_text(current_a, "A"))
    return verdict("drop_verdict", label.format(task=told, display=drop), case, signs)
