"""A search by halves along the load circuit: where it is open, in few readings."""

from __future__ import annotations

from dataclasses import dataclass

from generator.drawing.exercise import Exercise
from generator.model.circuit import columns_of
from generator.model.instruments import VOLTMETER, Errors
from generator.model.measure import Setup
from generator.model.settling import settle
from generator.model.topology import TOPOLOGY
from workbook.texts import later

# Where a meter reaches the load circuit, as current flows.
_ALONG = {
    "fed": later("feed of the fuses"),
    "load_fuse_out": later("far side of load fuse {load_fuse}"),
    "30": later("terminal 30"),
    "87": later("terminal 87"),
    "plug": later("wire side of connector {load_connector}"),
    "load+": later("supply pin of the load"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Half:
    """One reading, and between which places it leaves the open."""

    point: str
    display: str
    is_fed: bool
    start: str
    end: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Halves:
    """The places along the load circuit, and the readings at half of what is left."""

    places: tuple[str, ...]
    steps: tuple[Half, ...]


def search_by_halves(exercise: Exercise) -> Halves:
    """Search an open in the load circuit by volts to ground, under an output test.

    Raises
    ------
    ValueError
        Where the load circuit is not open between its fuse and the load.
    """
    fill, volts = exercise.specification.names.fill, _volts(exercise)
    places = tuple(map(fill, _ALONG.values()))
    # Before an open is the supply, behind it nothing: half of it is far from either.
    half_v, first, last = volts[0] / 2, 0, len(places) - 1
    if not volts[last] < half_v:
        raise ValueError("the load circuit is not open between its fuse and the load")
    steps = list[Half]()
    while last - first > 1:
        at = (first + last) // 2
        is_fed = volts[at] > half_v
        first, last = (at, last) if is_fed else (first, at)
        steps.append(
            Half(
                point=places[at],
                display=VOLTMETER.display(volts[at], Errors()),
                is_fed=is_fed,
                start=places[first],
                end=places[last],
            )
        )
    return Halves(places=places, steps=tuple(steps))


def _volts(exercise: Exercise) -> list[float]:
    """What is between each place and ground on this vehicle [V]."""
    calm, _moved = exercise.vehicle
    broken, sound = columns_of([calm]), columns_of([exercise.specification.nominal])
    (voltage_v,) = settle(broken, sound, [Setup(command="output test")]).voltage_v
    return [float(voltage_v[0, 0, TOPOLOGY.nodes.index(node)]) for node in _ALONG]
