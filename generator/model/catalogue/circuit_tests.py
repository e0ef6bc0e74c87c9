"""Tests along the circuit with its parts in place: warmth, drops, voltages, a scope."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from operator import attrgetter

from generator.model.catalogue.cautions import BACK, BURNS, DRIVEN_LOAD, SPIKE
from generator.model.catalogue.conditions import COMMANDED, IDLE, PLUGGED
from generator.model.circuit import RelayCircuit
from generator.model.measure import DiagnosticTest, Measure, Setup, Sorting
from generator.model.places import PlaceId

_RUNS_A_MINUTE = (
    "Under an output test the {load} has run for a minute. A thermometer is held to"
)
_LOADED = "The output test runs: without current there is no drop."
_SHINES = (
    "An infrared thermometer reads bare metal far too cold: aim at plastic or at dull "
    "tape, from near enough that its spot is no larger than the part."
)
# Under several amperes a bad joint is hot; what draws less hardly warms it [A]. The
# tenths of a volt of a spread holder take more than that to be hot within a minute.
_WARMS_A, _WARMS_HOLDER_A = 4.0, 10.0


def _carries_amperes(circuit: RelayCircuit) -> bool:
    """Whether a load draws enough for a bad joint to be found by its heat."""
    return circuit.load_rated_a >= _WARMS_A


_warmth = partial(
    DiagnosticTest,
    # A minute of current, then two temperatures, each until the display rests.
    minutes=3,
    sorting="warmth",
    hazards=(BURNS, _SHINES, *DRIVEN_LOAD),
    complaints=("works weakly",),
)
_at_rest = partial(DiagnosticTest, minutes=2, sorting="feed voltage")


def _driven(
    id_: str,
    title: str,
    leads: str,
    probe: str,
    needs: tuple[PlaceId, ...],
    sorting: Sorting = "drop",
    *,
    minutes: float = 2,
    hazards: tuple[str, ...] = DRIVEN_LOAD,
    applies: Callable[[RelayCircuit], bool] = lambda _: True,
) -> DiagnosticTest:
    """Put a voltmeter to its probe while the scan tool drives the output."""
    return DiagnosticTest(
        id=id_,
        title=title,
        how=f"Under an output test, meter on volts: {leads}.",
        before=_LOADED if sorting == "drop" else f"{COMMANDED} {PLUGGED}",
        minutes=minutes,
        needs=(*needs, "scan_tool"),
        measure=Measure(kind="voltage", target=probe),
        sorting=sorting,
        setup=Setup(probe=probe),
        hazards=hazards,
        applies=applies,
    )


CIRCUIT_TESTS = (
    _warmth(
        id="warmth_relay",
        title="Temperature of {relay} above what lies beside it",
        how=f"{_RUNS_A_MINUTE} {{relay}} and its socket, then to a part beside them "
        "that carries nothing.",
        before=f"{COMMANDED} {PLUGGED}",
        needs=("relay", "scan_tool"),
        measure=Measure(kind="warmth", target="relay"),
        applies=lambda circuit: circuit.has_relay and _carries_amperes(circuit),
    ),
    _warmth(
        id="warmth_ground",
        title="Temperature of the ground point of the {load} above the metal beside it",
        how=f"{_RUNS_A_MINUTE} the ground point of the {{load}}, then to the metal a "
        "hand's width beside it.",
        before=COMMANDED,
        needs=("ground", "scan_tool"),
        measure=Measure(kind="warmth", target="load_ground"),
        applies=_carries_amperes,
    ),
    _warmth(
        id="warmth_fuse",
        title="Temperature of the holder of {load_fuse} above its neighbours",
        how=f"{_RUNS_A_MINUTE} the holder of {{load_fuse}}, then to one beside it that "
        "carries nothing.",
        before=f"{COMMANDED} The fuse is in its place.",
        needs=("fuse_box", "scan_tool"),
        measure=Measure(kind="warmth", target="load_fuse"),
        applies=lambda circuit: circuit.load_rated_a >= _WARMS_HOLDER_A,
        complaints=("runs hot",),
    ),
    _warmth(
        id="warmth_connector",
        title="Temperature of connector {load_connector} above its wires",
        how=f"{_RUNS_A_MINUTE} {{load_connector}}, then to its wires a hand's width "
        "before it.",
        before=COMMANDED,
        needs=("load", "scan_tool"),
        measure=Measure(kind="warmth", target="load_connector"),
        applies=_carries_amperes,
    ),
    _driven(
        "drop_supply_30",
        "Voltage drop from supply to terminal {pin_in}",
        "plus on the battery, minus on terminal {pin_in}",
        "supply-30",
        ("relay_pins", "battery"),
    ),
    _driven(
        "drop_30_87",
        "Voltage drop across the contacts, 30 to 87",
        "plus on terminal 30, minus on terminal 87",
        "30-87",
        ("relay_pins",),
        applies=attrgetter("has_relay"),
    ),
    _driven(
        "drop_switch",
        "Voltage drop across the switch, {pin_in} to {pin_out}",
        "plus on terminal {pin_in}, minus on terminal {pin_out}",
        "30-87",
        ("module",),
        hazards=(BACK, *DRIVEN_LOAD),
        applies=attrgetter("is_smart"),
    ),
    _driven(
        "drop_87_load",
        "Voltage drop from terminal {pin_out} to the load",
        "plus on terminal {pin_out}, minus on the supply pin of the {load}",
        "87-load",
        ("relay_pins", "load"),
    ),
    _driven(
        "drop_load_connector",
        "Voltage drop across connector {load_connector} of the load",
        "both probes at the back of {load_connector}, plus on the wire side, minus on "
        "the supply pin of the {load}",
        "load connector",
        ("load",),
        minutes=3,
    ),
    _driven(
        "drop_load_ground",
        "Voltage drop from the load to ground",
        "plus on the ground pin of the {load}, minus on the battery",
        "load-ground",
        ("load",),
    ),
    _driven(
        "voltage_86",
        "Voltage at terminal {coil_supply}",
        "plus on terminal {coil_supply}, minus on the battery",
        "86",
        ("relay_pins",),
        "feed voltage",
        applies=attrgetter("has_relay"),
    ),
    _driven(
        "voltage_85",
        "Voltage at terminal {coil_return}",
        "plus on terminal {coil_return}, minus on the battery",
        "85",
        ("relay_pins",),
        "pulled down",
        hazards=(*DRIVEN_LOAD, SPIKE),
        applies=attrgetter("has_relay"),
    ),
    _driven(
        "voltage_low_driver",
        "Voltage at the driver pin of the control module",
        "plus on the {module} pin of the wire from {coil_return}, minus on the battery",
        "low driver",
        ("module",),
        "pulled down",
        hazards=(*DRIVEN_LOAD, SPIKE),
        applies=attrgetter("is_low_side"),
    ),
    _driven(
        "voltage_high_driver",
        "Voltage at the driver pin of the control module",
        "plus on the {module} pin of the wire to {coil_supply}, minus on the battery",
        "high driver",
        ("module",),
        "feed voltage",
        hazards=(*DRIVEN_LOAD, SPIKE),
        applies=attrgetter("is_high_side"),
    ),
    _driven(
        "voltage_module_ground",
        "Voltage at the driver's ground pin of the control module",
        "plus on the ground pin of the driver in {module}, minus on the battery",
        "module ground",
        ("module",),
        "pulled down",
        applies=attrgetter("is_low_side"),
    ),
    _at_rest(
        id="voltage_fuse_box",
        title="Voltage at the fuse box, behind the {upstream}",
        how="Meter on volts: plus on the feed of the fuses, minus on the battery.",
        before=f"The {{upstream}} is switched on. {IDLE}",
        needs=("fuse_box",),
        measure=Measure(kind="voltage", target="fuse box"),
        setup=Setup(command="off", probe="fuse box"),
        applies=attrgetter("has_switch_upstream"),
    ),
    _at_rest(
        id="voltage_87a_off",
        title="Voltage at terminal 87a with the command off",
        how="With no demand for the {load}, meter on volts: plus on terminal 87a, "
        "minus on the battery.",
        before=f"{IDLE} {PLUGGED}",
        needs=("relay_pins",),
        measure=Measure(kind="voltage", target="87a"),
        setup=Setup(command="off", probe="87a"),
        applies=attrgetter("has_break_contact"),
    ),
    DiagnosticTest(
        id="scope_turn_off",
        title="Scope the coil turn-off at terminal {coil_return}",
        how="Probe on terminal {coil_return}, its clip on the battery's minus. The "
        "scan tool drives the output and lets it go; that edge triggers the scope.",
        before=f"The scope stands behind a 100:1 probe. {PLUGGED}",
        minutes=5,
        needs=("relay_pins", "scan_tool"),
        measure=Measure(kind="spike", target="85"),
        sorting="turn-off",
        setup=Setup(probe="85"),
        hazards=(
            SPIKE,
            "Use a scope and a probe rated for it, 100:1; never the scope's bare "
            "input.",
            *DRIVEN_LOAD,
        ),
        applies=attrgetter("has_relay"),
    ),
)
