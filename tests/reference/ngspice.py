"""Linear networks solved by ngspice, another and much older circuit simulator.

ngspice after L. W. Nagel, "SPICE2: a computer program to simulate semiconductor
circuits", memorandum ERL-M520, University of California, Berkeley, 1975.

Every branch becomes a voltage source in series with a resistor, because SPICE reports
the current through each source. All networks stand side by side in one deck and share
only node 0, so that one run of the program solves them all.
"""

import math
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

from generator.model.network import Branch, Network
from tests.absent import stop

Answer = tuple[dict[str, float], dict[str, float]]
"""Node voltages [V] and branch currents [A] of one network."""


def solve_with_ngspice(networks: Sequence[Network]) -> list[Answer]:
    """Solve networks in one run; a node with no path to ground reads nan.

    Skips the test where ngspice is not installed, and fails it there in CI.
    """
    program = ngspice_or_skip()
    decks = [_Deck(case, network) for case, network in enumerate(networks)]
    lines = ["networks", *(line for deck in decks for line in deck.lines())]
    with tempfile.TemporaryDirectory() as folder:
        deck_file, raw_file = Path(folder, "deck.cir"), Path(folder, "deck.raw")
        deck_file.write_text("\n".join([*lines, ".op", ".end", ""]))
        subprocess.run(
            [program, "-n", "-b", "-r", str(raw_file), str(deck_file)],
            env={**os.environ, "SPICE_ASCIIRAWFILE": "1"},
            check=True,
            capture_output=True,
            timeout=120,
        )
        values = values_from_raw_file(raw_file.read_text(errors="replace"))
    return [deck.answer(values) for deck in decks]


def ngspice_or_skip() -> str:
    """Path of the program; without it the test is skipped, or fails in CI."""
    program = shutil.which("ngspice")
    if program is None:
        stop("ngspice is not installed")
    return program


def values_from_raw_file(text: str) -> dict[str, float]:
    """Name and value of every vector in an ASCII raw file that has one point.

    >>> head = "Variables:\\n\\t0\\tv(a)\\tvoltage\\n\\t1\\ti(b)\\tcurrent\\n"
    >>> values_from_raw_file(head + "Values:\\n 0\\t1.5\\n\\t-2.0e-3\\n\\n")
    {'v(a)': 1.5, 'i(b)': -0.002}
    """
    head, _, body = text.partition("Values:\n")
    table = head.partition("Variables:\n")[2]
    names = [line.split()[1] for line in table.splitlines()]
    numbers = [float(line.split()[-1]) for line in body.splitlines() if line.strip()]
    return dict(zip(names, numbers, strict=True))


class _Deck:
    """One network's elements in the deck, and its names there."""

    def __init__(self, case: int, network: Network) -> None:
        self.case = case
        self.network = network
        self.closed = {
            number: branch
            for number, branch in enumerate(network.branches)
            if math.isfinite(branch.resistance_ohm)
        }
        self.island = islands(network)
        roots = set(self.island.values())
        self.node = {
            node: "0" if node in roots else f"n{case}_{number}"
            for number, node in enumerate(self.island)
        }

    def lines(self) -> Iterator[str]:
        """Elements; an emf drives current from ``node_from`` to ``node_to``."""
        for number, branch in self.closed.items():
            name = f"{self.case}_{number}"
            start, end = self.node[branch.node_from], self.node[branch.node_to]
            middle = f"m{name}" if branch.resistance_ohm else end
            yield f"v{name} {start} {middle} dc {-branch.emf_v!r}"
            if branch.resistance_ohm:
                yield f"r{name} {middle} {end} {branch.resistance_ohm!r}"

    def answer(self, values: dict[str, float]) -> Answer:
        """Read this network's voltages and currents from the values of the run."""
        volts = {
            node: self._volts(node, values) if root == self.network.ground else math.nan
            for node, root in self.island.items()
        }
        amps = {
            branch.name: values[f"i(v{self.case}_{number})"]
            if number in self.closed
            else 0.0
            for number, branch in enumerate(self.network.branches)
        }
        return volts, amps

    def _volts(self, node: str, values: dict[str, float]) -> float:
        name = self.node[node]
        return 0.0 if name == "0" else values[f"v({name})"]


def islands(network: Network) -> dict[str, str]:
    """First node of the island to which each node belongs; ground is first of all.

    An island without ground is tied to node 0 at its first node: one tie carries no
    current, so its branch currents stay what they are.
    """
    ends = [node for b in network.branches for node in (b.node_from, b.node_to)]
    first = {node: node for node in [network.ground, *ends]}
    order = {node: place for place, node in enumerate(first)}
    for branch in network.branches:
        if math.isfinite(branch.resistance_ohm):
            _merge(first, order, branch)
    return first


def _merge(first: dict[str, str], order: dict[str, int], branch: Branch) -> None:
    """Let both ends of a branch have the same first node."""
    roots = {first[branch.node_from], first[branch.node_to]}
    chosen = min(roots, key=order.__getitem__)
    for node, root in first.items():
        if root in roots:
            first[node] = chosen
