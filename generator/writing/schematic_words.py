"""A wiring diagram in words: a table of its parts, and one sentence or two."""

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
    return (_supply_row(labels), *_control_rows(labels), *_load_rows(labels))


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
    return (
        f"Control circuit: {labels.supply}, fuse {labels.control_fuse.name}, coil of "
        f"relay {labels.relay} from terminal 86 to 85, low-side driver in "
        f"{labels.module}, ground. Load circuit: {labels.supply}, fuse "
        f"{labels.load_fuse.name}, normally open contacts of relay {labels.relay} "
        f"from terminal 30 to 87, {labels.load}, ground."
    )


def command_condition(labels: DiagramLabels) -> str:
    """Tell what the module needs before it commands the relay on."""
    if not labels.enable_inputs:
        return "command on"
    return "command on when: " + "; ".join(labels.enable_inputs)


def _supply_row(labels: DiagramLabels) -> Row:
    fuses = f"fuses {labels.control_fuse.name} and {labels.load_fuse.name}"
    return (labels.supply, "ground", fuses, "supply; negative pole at ground")


def _control_rows(labels: DiagramLabels) -> tuple[Row, ...]:
    fuse, wires = f"fuse {labels.control_fuse.name}", labels.wires
    pin_86, pin_85 = (f"{labels.relay} terminal {pin}" for pin in ("86", "85"))
    driver = f"{labels.module}, low-side driver"
    return (
        _fuse_row(labels.control_fuse, labels.supply, "control feed", "control"),
        _wire_row("control feed", wires.control_feed, fuse, pin_86),
        (f"{labels.relay} relay coil", pin_86, pin_85, _suppression_note(labels)),
        _wire_row("control return", wires.control_return, pin_85, driver),
        (driver, "control return", "module ground", command_condition(labels)),
        _wire_row("module ground", wires.module_ground, labels.module, "ground"),
    )


def _load_rows(labels: DiagramLabels) -> tuple[Row, ...]:
    fuse, wires = f"fuse {labels.load_fuse.name}", labels.wires
    pin_30, pin_87 = (f"{labels.relay} terminal {pin}" for pin in ("30", "87"))
    contacts = "normally open; the coil closes them"
    return (
        _fuse_row(labels.load_fuse, labels.supply, "load feed", "load"),
        _wire_row("load feed", wires.load_feed, fuse, pin_30),
        (f"{labels.relay} relay contacts", pin_30, pin_87, contacts),
        _wire_row("load wire", wires.load_wire, pin_87, labels.load),
        (labels.load, "load wire", "load ground", f"load: {labels.load_kind}"),
        _wire_row("load ground", wires.load_ground, labels.load, "ground"),
    )


def _fuse_row(fuse: FuseLabel, supply: str, wire: str, circuit: str) -> Row:
    return (f"fuse {fuse.name}", supply, wire, f"{fuse.rating}, {circuit} circuit")


def _wire_row(name: str, wire: WireLabel, start: str, end: str) -> Row:
    return (name, start, end, f"wire {wire.text}")


def _suppression_note(labels: DiagramLabels) -> str:
    """Tell what is in parallel to the coil; a diode's direction belongs to it."""
    if labels.suppression == "none":
        return "no suppression"
    side = ", cathode at terminal 86" if labels.suppression == "diode" else ""
    return f"suppression: {labels.suppression} in parallel inside the relay{side}"
