"""What a set-up can hurt, whatever the circuit: what a student is told before it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from workbook.record.bench import Bench
from workbook.record.set_up import SetUp
from workbook.texts import _, later

_HAZARDS: Mapping[str, str] = MappingProxyType(
    {
        "hand": later(
            "Engine stopped, key out and secured against starting, load fuse out: "
            "nothing may start under your hands. Wait until everything has run down. "
            "What runs on with its fuse out has another feed: hands off until it is "
            "unplugged."
        ),
        "moves": later(
            "The load can start without warning: fit probes and leads while it is off, "
            "then keep hands, sleeves and tools clear."
        ),
        "jumper": later(
            "Bridge only 30 and 87, with a fused jumper; never bridge the load itself."
        ),
        "lead": later(
            "Use a fused lead only, with a fuse no larger than that of the circuit. "
            "Fit it with the load off: if the load runs without demand, pull its relay "
            "first, and put it back for the reading."
        ),
        "arcs": later(
            "A fuse, relay or plug pulled under load arcs: switch the load off, pull "
            "it, then command again; and not where there may be fuel vapour."
        ),
        "unplugged": later(
            "Unplug a module only with the ignition off, once it sleeps: unplugged "
            "awake it stores fault codes, and its plug arcs."
        ),
        "ohms": later("Switch off and unplug before an ohmmeter is put on a part."),
        "spike": later(
            "A coil that is switched off can give a spike of hundreds of volts."
        ),
        "probe": later(
            "Use a scope and a probe rated for it, 100:1; never the scope's bare input."
        ),
        "terminals": later(
            "Touch terminals of the socket from the side or with a matching blade: a "
            "thick probe spreads them."
        ),
    }
)
# The same where a smart switch takes the relay's place; the bench names the others.
_AT_SWITCH: Mapping[str, str] = MappingProxyType(
    {
        "arcs": later(
            "A fuse or plug pulled under load arcs: switch the load off, pull it, then "
            "command again; and not where there may be fuel vapour."
        ),
        "terminals": later(
            "Touch terminals of the plug from behind or with a matching blade: a thick "
            "probe spreads them."
        ),
    }
)
_PLUGS_AT_LOAD = ("load_connector", "neighbour")
# Where a coil that is switched off drives its end.
_COIL_ENDS = {"86", "85", "driver", "driver_out"}


def cautions_of(before: SetUp, set_up: SetUp, bench: Bench) -> tuple[str, ...]:
    """Warn of what a set-up can hurt, what its load needs before all else.

    Parameters
    ----------
    before : SetUp
        How the vehicle stands.
    """
    own, is_driven = list[str](), _is_driven(set_up)
    own += bench.driven if is_driven else ()
    own += bench.secured if is_driven or set_up.command == "normal" else ()
    texts = {**_HAZARDS, **_AT_SWITCH} if bench.is_smart else _HAZARDS
    told = {id_: _(text) for id_, text in texts.items()} | {**bench.cautions}
    return (*own, *(told[id_] for id_ in _hazards(before, set_up, bench)))


def _is_driven(set_up: SetUp) -> bool:
    """Whether the load may run although its module would not let it."""
    return set_up.command == "output test" or set_up.is_bridged


def _hazards(before: SetUp, set_up: SetUp, bench: Bench) -> Iterator[str]:
    tool, ends = set_up.instrument, {set_up.plus, set_up.minus}
    places = {each.place for each in bench.points if each.id in ends}
    is_at_load = tool == "ohms" and "load" in places
    is_unplugging = any(
        getattr(before, plug) != getattr(set_up, plug) for plug in _PLUGS_AT_LOAD
    )
    if is_at_load or is_unplugging:
        yield "hand"
    if _is_driven(set_up) or set_up.command == "normal" or set_up.load_fuse == "lead":
        yield "moves"
    if bench.is_smart and set_up.command != "off":
        yield "back"
    if set_up.is_bridged:
        yield "jumper"
    if "lead" in (set_up.control_fuse, set_up.load_fuse):
        yield "lead"
    if _arcs(set_up, bench):
        yield "arcs"
    if set_up.module != "in":
        yield "unplugged"
    if tool == "ohms":
        yield "ohms"
    # Whatever lets go of the coil: the driver at the scope's edge, a plug that is
    # pulled, or a command that ends while a probe is on the coil.
    is_commanded = set_up.command != "off" and ends & _COIL_ENDS
    if tool == "scope" or _lets_go_of_coil(set_up, bench) or is_commanded:
        yield "spike"
    if tool == "scope":
        yield "probe"
    plug, place = ("module", "module") if bench.is_smart else ("relay", "relay_pins")
    if getattr(set_up, plug) != "in" and place in places:
        yield "terminals"


def _lets_go_of_coil(set_up: SetUp, bench: Bench) -> bool:
    return set_up.module == "out" and not bench.is_smart


def _arcs(set_up: SetUp, bench: Bench) -> bool:
    """Whether something is out that carries the current of coil or load.

    Through a neighbour it goes where their ground point is open.
    """
    switch = "module" if bench.is_smart else "relay"
    parts = ("control_fuse", "load_fuse", *_PLUGS_AT_LOAD)
    is_out = any(getattr(set_up, part) == "out" for part in parts)
    return is_out or getattr(set_up, switch) != "in"
