"""A wiring diagram in words: a table of its parts, and one sentence or two."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from generator.writing.schematic_labels import DiagramLabels, FuseLabel, WireLabel

Row = tuple[str, str, str, str]


def circuit_rows(labels: DiagramLabels) -> tuple[Row, ...]:
    """List every part as (part, from, to, note), along the current's path.

    Parameters
    ----------
    labels : DiagramLabels
        What is written on the diagram.

    Returns
    -------
    tuple of tuple of str
        One row a part: the supply, the control circuit, then the load circuit.
    """
    control = _high_side_rows if labels.is_high_side else _low_side_rows
    return (*_supply_rows(labels), *control(labels), *_load_rows(labels))


def circuit_sentence(labels: DiagramLabels) -> str:
    """Tell the circuit in two sentences, for an image's text alternative.

    Parameters
    ----------
    labels : DiagramLabels
        What is written on the diagram.

    Returns
    -------
    str
        The control circuit, then the load circuit, each from supply to ground.
    """
    upper, lower = labels.coil_pins
    driver = f"{_driver_side(labels)} driver in {labels.module}"
    coil = (
        f"coil of relay {labels.relay} from terminal {upper} to {lower} with a "
        f"{_suppression(labels)}"
    )
    control = (driver, coil) if labels.is_high_side else (coil, driver)
    spare = " (terminal 87a is free)" if labels.variant.terminals == 5 else ""
    contacts = (
        f"normally open contacts of relay {labels.relay} from terminal 30 to 87{spare}"
    )
    load = (
        f"connector {labels.load_connector}",
        f"{labels.load} ({labels.load_kind})",
    )
    return (
        f"Control circuit: {_path(labels, labels.control_fuse, *control)}. "
        f"Load circuit: {_path(labels, labels.load_fuse, contacts, *load)}."
    )


def command_condition(labels: DiagramLabels) -> str:
    """Tell what the module needs before it commands the relay on."""
    if not labels.enable_inputs:
        return "command on"
    return "command on when: " + "; ".join(labels.enable_inputs)


def _path(labels: DiagramLabels, fuse: FuseLabel, *parts: str) -> str:
    """Tell one circuit from supply to ground."""
    upstream = (labels.upstream,) if labels.has_switch_upstream else ()
    shared = "shared fuse" if labels.is_fuse_shared else "fuse"
    supply = f"{labels.supply} with {labels.engine}"
    return ", ".join((supply, *upstream, f"{shared} {fuse.name}", *parts, "ground"))


def _supply_rows(labels: DiagramLabels) -> tuple[Row, ...]:
    """Tell what both circuits hang on: a shared fuse is the last of it."""
    fuses = f"fuses {labels.control_fuse.name} and {labels.load_fuse.name}"
    if labels.is_fuse_shared:
        fuses = _fuse(labels.load_fuse)
    note = f"supply, {labels.engine}; negative pole at ground"
    rows: tuple[Row, ...] = ((labels.supply, "ground", _source(labels, fuses), note),)
    if labels.has_switch_upstream:
        upper, lower = labels.upstream_pins
        note = f"terminal {upper} to {lower}; closed with the ignition on"
        rows += ((labels.upstream, labels.supply, fuses, note),)
    if labels.is_fuse_shared:
        first = _driver(labels) if labels.is_high_side else "control feed"
        ends = f"{first} and load feed"
        rows += (_fuse_row(labels, labels.load_fuse, ends, "both circuits"),)
    return rows


def _low_side_rows(labels: DiagramLabels) -> tuple[Row, ...]:
    """Tell the control circuit whose driver is behind the coil."""
    wires, fuse, driver = labels.wires, labels.control_fuse, _driver(labels)
    upper, lower = (f"{labels.relay} terminal {pin}" for pin in labels.coil_pins)
    return (
        *_own_fuse_rows(labels, fuse, "control feed", "control circuit"),
        _wire_row("control feed", wires.control_feed, _fuse(fuse), upper),
        _coil_row(labels, upper, lower),
        _wire_row("control return", wires.control_return, lower, driver),
        (driver, "control return", "module ground", command_condition(labels)),
        _wire_row("module ground", wires.module_ground, labels.module, "ground"),
    )


def _high_side_rows(labels: DiagramLabels) -> tuple[Row, ...]:
    """Tell the control circuit whose driver is before the coil."""
    wires, fuse, driver = labels.wires, labels.control_fuse, _driver(labels)
    upper, lower = (f"{labels.relay} terminal {pin}" for pin in labels.coil_pins)
    return (
        *_own_fuse_rows(labels, fuse, driver, "control circuit"),
        (driver, _fuse(fuse), "control feed", command_condition(labels)),
        _wire_row("control feed", wires.control_feed, driver, upper),
        _coil_row(labels, upper, lower),
        _wire_row("control return", wires.control_return, lower, "ground"),
    )


def _load_rows(labels: DiagramLabels) -> tuple[Row, ...]:
    """Tell the load circuit, and the break contact where there is one."""
    fuse, wires = labels.load_fuse, labels.wires
    pin_30, pin_87 = (f"{labels.relay} terminal {pin}" for pin in ("30", "87"))
    connector = f"connector {labels.load_connector}"
    contacts = "normally open; the coil closes them"
    return (
        *_own_fuse_rows(labels, fuse, "load feed", "load circuit"),
        _wire_row("load feed", wires.load_feed, _fuse(fuse), pin_30),
        (f"{labels.relay} relay contacts", pin_30, pin_87, contacts),
        *_break_contact_rows(labels, pin_30),
        _wire_row("load wire", wires.load_wire, pin_87, connector),
        (connector, "load wire", labels.load, "plugged on the load's supply side"),
        (labels.load, connector, "load ground", f"load: {labels.load_kind}"),
        _wire_row("load ground", wires.load_ground, labels.load, "ground"),
    )


def _break_contact_rows(labels: DiagramLabels, pin_30: str) -> tuple[Row, ...]:
    if labels.variant.terminals == 4:
        return ()
    note = "normally closed; the coil opens it; nothing is connected to 87a"
    pin_87a = f"{labels.relay} terminal 87a"
    return ((f"{labels.relay} break contact", pin_30, pin_87a, note),)


def _own_fuse_rows(
    labels: DiagramLabels, fuse: FuseLabel, to: str, circuit: str
) -> tuple[Row, ...]:
    """Tell the fuse of one circuit; a shared one is told with the supply."""
    return () if labels.is_fuse_shared else (_fuse_row(labels, fuse, to, circuit),)


def _fuse_row(labels: DiagramLabels, fuse: FuseLabel, to: str, circuit: str) -> Row:
    source = _source(labels, labels.supply)
    return (_fuse(fuse), source, to, f"{fuse.rating}, {circuit}")


def _coil_row(labels: DiagramLabels, upper: str, lower: str) -> Row:
    """Tell the coil, and what is in parallel to it."""
    note = f"suppression inside the relay: {_suppression(labels)}"
    return (f"{labels.relay} relay coil", upper, lower, note)


def _wire_row(name: str, wire: WireLabel, start: str, end: str) -> Row:
    return (name, start, end, f"wire {wire.text}")


def _suppression(labels: DiagramLabels) -> str:
    """Tell what is in parallel to the coil; a diode's direction belongs to it."""
    is_diode = labels.suppression == "diode"
    side = f" (cathode at terminal {labels.coil_pins[0]})" if is_diode else ""
    return f"{labels.suppression} in parallel{side}"


def _fuse(fuse: FuseLabel) -> str:
    return f"fuse {fuse.name}"


def _source(labels: DiagramLabels, otherwise: str) -> str:
    """Name the switch or main relay before the fuses, or what a bus bar joins."""
    return labels.upstream if labels.has_switch_upstream else otherwise


def _driver_side(labels: DiagramLabels) -> str:
    return "high-side" if labels.is_high_side else "low-side"


def _driver(labels: DiagramLabels) -> str:
    return f"{labels.module}, {_driver_side(labels)} driver"
