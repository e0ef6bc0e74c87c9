"""The fault chart: what every test shows under every fault, for one reference circuit.

``python -m tests.upkeep.fault_chart`` prints it; the copy in ``lessons/`` is that
output, and a test holds the two together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from statistics import fmean

from generator.drawing.proof import break_circuit, broken_pair
from generator.drawing.specification import Specification, new_specification
from generator.drawing.stream import Stream
from generator.model.catalogue.fault import Fault
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS, tests_for
from generator.model.catalogue.wrong_state import misread, wrong_states_for
from generator.model.diagnostics import Pair, outcomes, readings, scales
from generator.model.instruments import Errors
from generator.model.measure import DiagnosticTest
from generator.model.topology import network_of
from generator.model.variant import Variant
from lessons.loader import LessonBook, read_lesson

_LESSON, _FAMILY = "mixed-diagnosis", "cooler-fan"
# Faults of one part of another family, which the reference circuit does not have.
_BESIDE, _AT_THE_GROUND = (
    "tiller-lock",
    ("load_ground_resistance", "shared_ground_open"),
)
_HEAD = """\
# Fault chart

What every test shows under every fault, for one reference circuit: the {load} of
{vehicle}, {variant}. Computed by the model; `python -m tests.upkeep.fault_chart`
prints it again. A dash is what the sound circuit shows too.

The chart is for reading and discussion. In the shop the cautions of every workbook
hold, and the vehicle maker's service information comes first.
"""


_SHARED_GROUND = """\

## A ground point that a neighbour shares

Of a smaller load, the {load} of {vehicle}: its own ground is bad, or the ground point
that it shares with lamps that are off.
"""


_SMART_SWITCH = """\

## Without a relay

The same {load}, switched by {module} itself, a smart switch that measures its own
current: no control circuit, and codes in its place. "Open load" is also said of an
output that something else feeds.
"""


def chart_text(book: LessonBook, family_id: str, variant: Variant) -> str:
    """Write the chart of one family and variant as Markdown.

    Every fault that can happen to the circuit is in it, the advanced ones too, each
    at a typical size.
    """
    everything = _with_every_fault(book)
    family = next(family for family in book.families if family.id == family_id)
    stream = Stream(bytes(32), "fault chart", family_id)
    specification = new_specification(everything.lesson, family, variant, stream)
    head = _HEAD.format(
        load=specification.names.load,
        vehicle=specification.names.vehicle,
        variant=variant.text,
    )
    tables = _tables(everything, specification, stream)
    return "\n".join([head, *tables, *_wrong_states(specification), ""])


def shared_ground_text(book: LessonBook) -> str:
    """Write beside each other what a bad ground is, of its own and a shared one."""
    family = next(family for family in book.families if family.id == _BESIDE)
    stream = Stream(bytes(32), "fault chart", _BESIDE)
    variant = Variant(ground="shared")
    specification = new_specification(book.lesson, family, variant, stream)
    nominal = specification.nominal
    faults = [FAULTS[id_] for id_ in _AT_THE_GROUND]
    pairs = [broken_pair(each, nominal, fmean(each.severity)) for each in faults]
    tests = tests_for(nominal, book.lesson.tests, is_stressed=False)
    rows = _outcomes(specification, tests, pairs)
    head = _SHARED_GROUND.format(
        load=specification.names.load, vehicle=specification.names.vehicle
    )
    return "\n".join([head, *_table(specification, tests, faults, rows), ""])


def smart_switch_text(book: LessonBook) -> str:
    """Write the chart of the same load behind a switch without contacts."""
    everything = _with_every_fault(book)
    family = next(family for family in book.families if family.id == _FAMILY)
    stream = Stream(bytes(32), "fault chart", _FAMILY)
    variant = Variant(switch="smart")
    specification = new_specification(everything.lesson, family, variant, stream)
    head = _SMART_SWITCH.format(
        load=specification.names.load, module=specification.names.module
    )
    tables = _tables(
        everything, specification, stream, "Behind a smart switch the load"
    )
    return "\n".join([head, *tables])


def _with_every_fault(book: LessonBook) -> LessonBook:
    """Let a lesson draw every fault there is."""
    lesson = book.lesson.model_copy(update={"faults": tuple(FAULTS)})
    return replace(book, lesson=lesson)


def _tables(
    book: LessonBook,
    specification: Specification,
    stream: Stream,
    subject: str = "The load",
) -> list[str]:
    """One table a complaint, with the tests down and the faults across."""
    broken = break_circuit(book.lesson, specification, stream)
    lines = []
    for symptom in dict.fromkeys(broken.felt):
        is_stressed = symptom == "comes and goes"
        offered = tests_for(
            specification.nominal, book.lesson.tests, is_stressed=is_stressed
        )
        # What nobody notices has no complaint that a test would not fit.
        tests = [t for t in offered if symptom in (*t.complaints, "none")]
        kept = [n for n, felt in enumerate(broken.felt) if felt == symptom]
        rows = _outcomes(specification, tests, [broken.pairs[n] for n in kept])
        lines += [f"## {subject} {_TITLES[symptom]}", ""]
        faults = [broken.faults[n] for n in kept]
        lines += [*_table(specification, tests, faults, rows), ""]
    return lines


_TITLES = {
    "does nothing": "does nothing",
    "works weakly": "works weakly",
    "never stops": "never stops",
    "comes and goes": "comes and goes (recordings with what they name moved or warmed, "
    "other electrical tests with the harness wiggled and warm)",
    "runs hot": "works, and wires or the fuse run hot",
    "upsets the module": "works, but its switching upsets the control module",
    "none": "works as it should",
}


def _outcomes(
    specification: Specification,
    tests: Sequence[DiagnosticTest],
    pairs: Sequence[Pair],
) -> list[tuple[str, ...]]:
    """Outcome words of the sound circuit first, then of each broken one."""
    nominal = specification.nominal
    everything = [(nominal, nominal), *pairs]
    value = readings(everything, nominal, tests).value[..., 0]
    on = scales(nominal, tests, specification.steps)
    return list(outcomes(value, on, [calm for calm, _ in everything], tests))


def _table(
    specification: Specification,
    tests: Sequence[DiagnosticTest],
    faults: Sequence[Fault],
    rows: Sequence[tuple[str, ...]],
) -> list[str]:
    """Markdown of one table: tests down, faults by letter across, keyed above."""
    fill = specification.names.fill
    letters = [_letter(number) for number in range(len(faults))]
    sound, *broken = rows
    key = [
        f"- **{letter}** {fill(fault.title)}"
        for letter, fault in zip(letters, faults, strict=True)
    ]
    head = ["test", "sound", *letters]
    table = [f"| {' | '.join(head)} |", f"|{'---|' * len(head)}"]
    for number, test in enumerate(tests):
        cells = [row[number] for row in broken]
        shown = ["–" if cell == sound[number] else cell for cell in cells]
        table.append(f"| {fill(test.title)} | {sound[number]} | {' | '.join(shown)} |")
    return [*key, "", *table]


def _wrong_states(specification: Specification) -> list[str]:
    """One table of tests done in a wrong state, read on the sound circuit."""
    nominal, fill = specification.nominal, specification.names.fill
    head = ["test done in a wrong state", "sound circuit shows", "why it misleads"]
    lines = [
        "## Readings that prove nothing",
        "",
        f"| {' | '.join(head)} |",
        f"|{'---|' * len(head)}",
    ]
    for wrong in wrong_states_for(nominal, TESTS, "does nothing"):
        test = wrong.test
        read = readings([(nominal, nominal)], nominal, [test])
        network = network_of(read.settled, (0, 0, 0))
        shown = misread(test, float(read.value[0, 0, 0]), network, Errors())
        lines.append(f"| {fill(test.title)} | {shown} | {fill(test.mistake)} |")
    return lines


def _letter(number: int) -> str:
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    more, last = divmod(number, len(letters))
    return letters[last] if not more else letters[more - 1] + letters[last]


def whole_text() -> str:
    """The chart of the reference circuit, and what it has not."""
    book = read_lesson(_LESSON)
    relay = chart_text(book, _FAMILY, Variant())
    return relay + shared_ground_text(book) + smart_switch_text(book)


def main() -> None:
    """Print the chart of the reference circuit."""
    print(whole_text(), end="")  # noqa: T201


if __name__ == "__main__":
    main()
