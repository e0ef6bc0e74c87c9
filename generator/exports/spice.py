"""Netlists: one test of an exercise as a file for the circuit simulator ngspice.

``ngspice -b FILE`` solves it, prints what the test measures as ``reading``, and ends
with exit code 0. So an instructor can check any number of an answer key with another
and much older program, and change values to see what happens.

References
----------
L. W. Nagel, "SPICE2: a computer program to simulate semiconductor circuits", memorandum
ERL-M520, University of California, Berkeley, 1975.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from msgspec import UnsetType

from answer_keys.keys.whole_record import CoilRecord, WholeRecord, WholeTest
from generator.exports.spice_transients import (
    motor_start_netlist_text,
    turn_off_netlist_text,
)
from generator.exports.transients_of import (
    NothingMovesError,
    coil_circuit_of,
    motor_start_of,
)
from generator.model.inrush import motor_start
from generator.model.network import Network
from generator.model.trace import Trace
from generator.model.transients import coil_turn_off

TRANSIENTS: Mapping[str, str] = {
    "coil_turn_off": "The coil of the sound circuit is switched off",
    "motor_start": "The motor of the sound circuit starts from standstill",
}
"""Transients of a sound circuit that have a netlist besides the tests."""

# A scope's reading is solved as a transient, a state not at all.
_SOLVED = ("current", "voltage", "resistance")


class SpiceError(ValueError):
    """A test that has no netlist, and which tests have one.

    Attributes
    ----------
    known : tuple of str
        Ids of this exercise that have a netlist.
    """

    def __init__(self, test_id: str, reason: str, known: Sequence[str]) -> None:
        self.test_id = test_id
        self.known = tuple(known)
        super().__init__(f"{test_id!r} {reason}. Name one of {', '.join(known)}.")


def netlist_text(record: WholeRecord, test_id: str) -> str:
    """Write one test of an exercise as a netlist that ngspice runs as it is.

    Parameters
    ----------
    record : WholeRecord
        An exercise of the answer key.
    test_id : str
        One of the exercise's tests that measure, or one of ``TRANSIENTS``.

    Returns
    -------
    str
        ``ngspice -b`` prints ``reading`` in A, V or Ω; a transient prints its peak
        and its time constant.

    Raises
    ------
    SpiceError
        Where the exercise has no such test, or the test solves no circuit.
    """
    test = next((test for test in record.tests if test.id == test_id), None)
    if test is None:
        if test_id not in TRANSIENTS:
            raise SpiceError(test_id, "is no test of this exercise", _written(record))
        return _transient_text(record, test_id)
    if test.measures.kind in _SOLVED:
        return "\n".join(_lines(record, test)) + "\n"
    if test.coil:
        return _turn_off_text(record, test, test.coil)
    raise SpiceError(test_id, "looks at a thing and measures none", _written(record))


def _transient_text(record: WholeRecord, test_id: str) -> str:
    heading, sound = _heading(record, TRANSIENTS[test_id]), record.circuit
    try:
        if test_id == "coil_turn_off":
            circuit = coil_circuit_of(sound.network, sound.coil)
            heading.append(_found(coil_turn_off(circuit), "peak_v"))
            return turn_off_netlist_text(circuit, heading)
        source, motor = motor_start_of(sound.network)
        heading.append(_found(motor_start(source, motor), "peak_a"))
        return motor_start_netlist_text(source, motor, heading)
    except NothingMovesError as error:
        reason = f"has nothing to simulate: {error}"
        raise SpiceError(test_id, reason, _written(record)) from error


def _turn_off_text(record: WholeRecord, test: WholeTest, coil: CoilRecord) -> str:
    """The coil of the vehicle as it is, switched off under a scope."""
    try:
        circuit = coil_circuit_of(test.setup, coil)
    except NothingMovesError as error:
        reason = f"has nothing to simulate: {error}"
        others = [name for name in _written(record) if name != test.id]
        raise SpiceError(test.id, reason, others) from error
    heading = [
        *_heading(record, f"{test.title} (test {test.id})"),
        f"* to be found: reading = {test.peak_to_peak_v:.4g} V, peak to peak",
        f"* shown by the instrument: {test.display}",
    ]
    return turn_off_netlist_text(circuit, heading)


def _found(trace: Trace, peak: str) -> str:
    """Comment line with what our own solution of a transient gives."""
    found = f"{peak} = {getattr(trace, peak):.4g}"
    return f"* to be found: {found}, time_constant_s = {trace.time_constant_s:.4g}"


def _written(record: WholeRecord) -> list[str]:
    measured = [
        test.id for test in record.tests if test.measures.kind in _SOLVED or test.coil
    ]
    return [*measured, *(name for name in TRANSIENTS if name not in measured)]


def _heading(record: WholeRecord, what: str) -> list[str]:
    """Comment lines that say where a netlist comes from."""
    place = f"set {record.set_id}, student {record.student}"
    lines = [
        record.title,
        f"{place}, exercise {record.exercise}, vehicle {record.vehicle}",
        what,
    ]
    # A line break in a name must not start a line of its own.
    return [f"* {' '.join(str(line).split())}" for line in lines]


def _lines(record: WholeRecord, test: WholeTest) -> Iterator[str]:
    network = _Elements(test.setup)
    meter, reading = _meter(network, test)
    unit = test.unit.replace("Ω", "ohm")
    if test.true_value is None:
        unit = "A at 1 V, for an endless resistance"
    yield from _heading(record, f"{test.title} (test {test.id})")
    yield f"* to be found: reading = {test.true_value or 0:.9g} {unit}"
    yield f"* shown by the instrument: {' '.join(test.display.split())}"
    yield from network.legend()
    yield from network.elements(test.measures.branch)
    yield from meter
    yield from (".control", "set numdgt=9", "op", f"let reading = {reading}")
    yield from ("print reading", "quit 0", ".endc", ".end")


def _meter(network: _Elements, test: WholeTest) -> tuple[list[str], str]:
    """What measures, and the expression of its reading."""
    measures = test.measures
    if measures.kind == "current":
        return [network.ammeter(str(measures.branch))], "i(V_meter)"
    plus, minus = map(network.node, measures.nodes)
    if test.true_value is None:
        # No current source drives an open; a volt does, and shows by no current that it
        # is one. SPICE counts a source's current into its plus pole, hence the sign.
        return [f"V_meter {plus} {minus} DC 1"], "-i(V_meter)"
    reading = f"v({plus})" if minus == "0" else f"v({plus})-v({minus})"
    if measures.kind == "voltage":
        return [], reading
    # One ampere through it: its volts are its ohms.
    return [f"I_meter {minus} {plus} DC 1"], reading


class _Elements:
    """A network of the key as elements of SPICE, with names that it takes."""

    def __init__(self, network: Network) -> None:
        self._branches = {branch.name: branch for branch in network.branches}
        self._ground = network.ground

    def node(self, name: str) -> str:
        """Name of a node: letters, digits and _ only."""
        if name == self._ground:
            return "0"
        return _plain(f"t{name}" if name.isdigit() else name)

    def legend(self) -> Iterator[str]:
        """Comment line for nodes that are called otherwise on the diagram."""
        branches = self._branches.values()
        ends = [end for b in branches for end in (b.node_from, b.node_to)]
        renamed = [n for n in dict.fromkeys(ends) if self.node(n) != n]
        if renamed:
            pairs = (f"{self.node(name)} is {name}" for name in renamed)
            yield f"* nodes: {', '.join(pairs)}"

    def ammeter(self, name: str) -> str:
        """Put a meter before a branch."""
        return f"V_meter {self.node(self._branches[name].node_from)} meter DC 0"

    def elements(self, measured: str | UnsetType) -> Iterator[str]:
        """Resistors and sources of every branch, the measured one behind its meter."""
        for name, branch in self._branches.items():
            plain, end = _plain(name), self.node(branch.node_to)
            ohm, emf_v = branch.resistance_ohm, branch.emf_v
            start = "meter" if name == measured else self.node(branch.node_from)
            middle = f"e_{plain}" if ohm else end
            # Without ohms it is a source alone, of its emf or of nothing: no SPICE
            # solves 0 Ω.
            if emf_v or not ohm:
                # Its plus pole is where the current leaves it.
                yield f"V_{plain} {middle} {start} DC {emf_v:.12g}"
                start = middle
            if ohm:
                yield f"R_{plain} {start} {end} {ohm:.12g}"


def _plain(name: str) -> str:
    """Letters, digits and _ only.

    >>> _plain("load+"), _plain("meter 30-87")
    ('load_p', 'meter_30_87')
    """
    # Both ends of a load keep names of their own: + and - would become the same letter.
    worded = re.sub(r"\+$", "_p", re.sub(r"-$", "_n", name))
    return re.sub(r"[^A-Za-z0-9_]", "_", worded).lower()
