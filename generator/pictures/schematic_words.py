"""A wiring diagram in words: a table of its parts, and one sentence or two."""

from __future__ import annotations

from generator.pictures.labels import DiagramLabels, FuseLabel, WireLabel
from workbook.texts import _

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
    if labels.is_smart:
        return (*_supply_rows(labels), *_load_rows(labels))
    control = _high_side_rows if labels.is_high_side else _low_side_rows
    return (*_supply_rows(labels), *control(labels), *_load_rows(labels))


def circuit_sentence(labels: DiagramLabels) -> str:
    """Tell the circuit in some sentences, for an image's text alternative.

    Parameters
    ----------
    labels : DiagramLabels
        What is written on the diagram.

    Returns
    -------
    str
        The control circuit, where there is one, then the load circuit, each from supply
        to ground, then who shares the load's ground point.
    """
    if labels.is_smart:
        return _smart_sentence(labels)
    upper, lower = labels.coil_pins
    side = (
        _("high-side driver in {module}")
        if labels.is_high_side
        else _("low-side driver in {module}")
    )
    driver = side.format(module=labels.module)
    coil = _(
        "coil of relay {relay} from terminal {upper} to {lower} with a {suppression}"
    ).format(
        relay=labels.relay, upper=upper, lower=lower, suppression=_suppression(labels)
    )
    control = (driver, coil) if labels.is_high_side else (coil, driver)
    contacts = (
        _("normally open contacts of relay {relay} from terminal 30 to 87")
        if labels.variant.terminals == 4
        else _(
            "normally open contacts of relay {relay} from terminal 30 to 87 (terminal "
            "87a is free)"
        )
    ).format(relay=labels.relay)
    told = _("Control circuit: {control}. Load circuit: {load}.").format(
        control=_path(labels, labels.control_fuse, *control),
        load=_load_path(labels, contacts),
    )
    return _with_neighbour(labels, told)


def _smart_sentence(labels: DiagramLabels) -> str:
    """Tell the one circuit that there is without a relay."""
    pin_in, pin_out = labels.load_pins
    switch = _("smart switch in {module} from terminal {pin_in} to {pin_out}").format(
        module=labels.module, pin_in=pin_in, pin_out=pin_out
    )
    told = _("Load circuit: {load}. There is no relay.")
    told = told.format(load=_load_path(labels, switch))
    return _with_neighbour(labels, told)


def _load_path(labels: DiagramLabels, switch: str) -> str:
    load = (_connector(labels), f"{labels.load} ({_(labels.load_kind)})")
    return _path(labels, labels.load_fuse, switch, *load)


def _with_neighbour(labels: DiagramLabels, told: str) -> str:
    if not labels.is_ground_shared:
        return told
    shared = _("The ground point of the load is shared with: {neighbour}.")
    return f"{told} {shared.format(neighbour=labels.neighbour)}"


def part_names(labels: DiagramLabels) -> dict[str, str]:
    """Name every part, wire and terminal, by the id of its spot, as current flows."""
    pin = {each: _terminal(labels, each) for each in ("30", "85", "86", "87", "87a")}
    if labels.is_smart:
        pin_in, pin_out = (_terminal(labels, each) for each in labels.load_pins)
        feed = {"load_feed": _("load feed"), "30": pin_in}
        switch = {"contacts": _switch(labels), "87": pin_out}
        command = {
            "enable": _("command of the module"),
            "module": labels.module,
        }
        return {**_supply_names(labels), **feed, **command, **switch, **_behind(labels)}
    upper, lower = labels.coil_pins
    coil = {
        "control_feed": _("control feed"),
        upper: pin[upper],
        "coil": _("{relay} relay coil").format(relay=labels.relay),
        lower: pin[lower],
        "control_return": _("control return"),
    }
    load = {
        "load_feed": _("load feed"),
        "30": pin["30"],
        # Two spots of one name: the terminal, and the socket that it sits in.
        "socket": pin["30"],
        "contacts": _("{relay} relay contacts").format(relay=labels.relay),
        "87": pin["87"],
        **({"87a": pin["87a"]} if labels.variant.terminals == 5 else {}),
        **_behind(labels),
    }
    module = _module_names(labels)
    control = {**module, **coil} if labels.is_high_side else {**coil, **module}
    return {**_supply_names(labels), **control, **load}


def _behind(labels: DiagramLabels) -> dict[str, str]:
    """Name what lies behind the switch or the contacts."""
    return {
        "load_wire": _("load wire"),
        "load_connector": _connector(labels),
        "load+": _("supply pin of the load"),
        "load": labels.load,
        "mechanism": labels.load,
        "surroundings": _("surroundings of the load"),
        "load-": _("ground pin of the load"),
        "load_ground": _("load ground"),
        **({"neighbour": labels.neighbour} if labels.is_ground_shared else {}),
    }


def _supply_names(labels: DiagramLabels) -> dict[str, str]:
    upstream = {"upstream": labels.upstream} if labels.has_switch_upstream else {}
    load_fuse = _fuse(labels.load_fuse)
    fuses = {"control_fuse": _fuse(labels.control_fuse), "load_fuse": load_fuse}
    if labels.is_smart:
        fuses = {"load_fuse": load_fuse}
    elif labels.is_fuse_shared:
        fuses = {"shared_fuse": load_fuse}
    return {
        "0": _("battery, minus"),
        "supply": _("battery, plus"),
        **upstream,
        "fed": _("feed of the fuses"),
        **fuses,
    }


def _module_names(labels: DiagramLabels) -> dict[str, str]:
    inside = {"enable": _("command of the module"), "module": _driver(labels)}
    pin = _("driver pin of the module")
    if labels.is_high_side:
        return {**inside, "driver_out": pin}
    return {
        "driver": pin,
        **inside,
        "module_ground_pin": _("driver's ground pin of the module"),
        "module_ground": _("module ground"),
    }


def command_condition(labels: DiagramLabels) -> str:
    """Tell what the module needs before it commands the relay on."""
    if not labels.enable_inputs:
        return _("command on")
    when = _("command on when: {inputs}")
    return when.format(inputs="; ".join(labels.enable_inputs))


def _path(labels: DiagramLabels, fuse: FuseLabel, *parts: str) -> str:
    """Tell one circuit from supply to ground."""
    upstream = (labels.upstream,) if labels.has_switch_upstream else ()
    own = _("shared fuse {fuse}") if labels.is_fuse_shared else _("fuse {fuse}")
    supply = _("{supply} with {engine}").format(
        supply=labels.supply, engine=_(labels.engine)
    )
    named = own.format(fuse=fuse.name)
    return ", ".join((supply, *upstream, named, *parts, _("ground")))


def _supply_rows(labels: DiagramLabels) -> tuple[Row, ...]:
    """Tell what both circuits are fed by: a shared fuse is the last of it."""
    fuses = _("fuses {one} and {other}").format(
        one=labels.control_fuse.name, other=labels.load_fuse.name
    )
    if labels.is_fuse_shared or labels.is_smart:
        fuses = _fuse(labels.load_fuse)
    note = _("supply, {engine}; negative pole at ground")
    note = note.format(engine=_(labels.engine))
    source = _source(labels, fuses)
    rows: tuple[Row, ...] = ((labels.supply, _("ground"), source, note),)
    if labels.has_switch_upstream:
        upper, lower = labels.upstream_pins
        note = _("terminal {upper} to {lower}; closed with the ignition on")
        note = note.format(upper=upper, lower=lower)
        rows += ((labels.upstream, labels.supply, fuses, note),)
    if labels.is_fuse_shared:
        first = _driver(labels) if labels.is_high_side else _("control feed")
        ends = _("{first} and load feed").format(first=first)
        rows += (_fuse_row(labels, labels.load_fuse, ends, _("both circuits")),)
    return rows


def _low_side_rows(labels: DiagramLabels) -> tuple[Row, ...]:
    """Tell the control circuit whose driver is behind the coil."""
    wires, fuse, driver = labels.wires, labels.control_fuse, _driver(labels)
    upper, lower = (_terminal(labels, pin) for pin in labels.coil_pins)
    feed, back, ground = _("control feed"), _("control return"), _("module ground")
    return (
        *_own_fuse_rows(labels, fuse, feed, _("control circuit")),
        _wire_row(feed, wires.control_feed, _fuse(fuse), upper),
        _coil_row(labels, upper, lower),
        _wire_row(back, wires.control_return, lower, driver),
        (driver, back, ground, command_condition(labels)),
        _wire_row(ground, wires.module_ground, labels.module, _("ground")),
    )


def _high_side_rows(labels: DiagramLabels) -> tuple[Row, ...]:
    """Tell the control circuit whose driver is before the coil."""
    wires, fuse, driver = labels.wires, labels.control_fuse, _driver(labels)
    upper, lower = (_terminal(labels, pin) for pin in labels.coil_pins)
    feed, back = _("control feed"), _("control return")
    return (
        *_own_fuse_rows(labels, fuse, driver, _("control circuit")),
        (driver, _fuse(fuse), feed, command_condition(labels)),
        _wire_row(feed, wires.control_feed, driver, upper),
        _coil_row(labels, upper, lower),
        _wire_row(back, wires.control_return, lower, _("ground")),
    )


def _load_rows(labels: DiagramLabels) -> tuple[Row, ...]:
    """Tell the load circuit, and the break contact where there is one."""
    fuse, wires = labels.load_fuse, labels.wires
    pin_30, pin_87 = (_terminal(labels, pin) for pin in labels.load_pins)
    feed, wire, ground = _("load feed"), _("load wire"), _("load ground")
    connector, plugged = _connector(labels), _("plugged on the load's supply side")
    contacts = _("{relay} relay contacts").format(relay=labels.relay)
    note = _("normally open; the coil closes them")
    if labels.is_smart:
        contacts, note = _switch(labels), command_condition(labels)
    kind = _("load: {kind}").format(kind=_(labels.load_kind))
    return (
        *_own_fuse_rows(labels, fuse, feed, _("load circuit")),
        _wire_row(feed, wires.load_feed, _fuse(fuse), pin_30),
        (contacts, pin_30, pin_87, note),
        *_break_contact_rows(labels, pin_30),
        _wire_row(wire, wires.load_wire, pin_87, connector),
        (connector, wire, labels.load, plugged),
        (labels.load, connector, ground, kind),
        *_ground_rows(labels),
    )


def _ground_rows(labels: DiagramLabels) -> tuple[Row, ...]:
    """Tell the load's way to ground, and who else goes by its ground point."""
    name, wire, end = _("load ground"), labels.wires.load_ground, _("ground")
    if not labels.is_ground_shared:
        return (_wire_row(name, wire, labels.load, end),)
    point, neighbour = _("shared ground point"), labels.neighbour
    note = _(
        "off; at their supply lead hang the right work lamps, whose ground is elsewhere"
    )
    return (
        _wire_row(name, wire, labels.load, point),
        (point, name, end, _("one bolt for both")),
        (neighbour, point, end, note),
    )


def _break_contact_rows(labels: DiagramLabels, pin_30: str) -> tuple[Row, ...]:
    if labels.variant.terminals == 4:
        return ()
    note = _("normally closed; the coil opens it; nothing is connected to 87a")
    contact = _("{relay} break contact").format(relay=labels.relay)
    return ((contact, pin_30, _terminal(labels, "87a"), note),)


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
    note = _("suppression inside the relay: {suppression}")
    coil = _("{relay} relay coil").format(relay=labels.relay)
    return (coil, upper, lower, note.format(suppression=_suppression(labels)))


def _wire_row(name: str, wire: WireLabel, start: str, end: str) -> Row:
    return (name, start, end, _("wire {wire}").format(wire=wire.text))


def _suppression(labels: DiagramLabels) -> str:
    """Tell what is in parallel to the coil; a diode's direction belongs to it."""
    if labels.suppression == "resistor":
        return _("resistor in parallel")
    diode = _("diode in parallel (cathode at terminal {pin})")
    return diode.format(pin=labels.coil_pins[0])


def _fuse(fuse: FuseLabel) -> str:
    return _("fuse {fuse}").format(fuse=fuse.name)


def _connector(labels: DiagramLabels) -> str:
    return _("connector {connector}").format(connector=labels.load_connector)


def _terminal(labels: DiagramLabels, pin: str) -> str:
    return _("{relay} terminal {pin}").format(relay=labels.relay, pin=pin)


def _source(labels: DiagramLabels, otherwise: str) -> str:
    """Name the switch or main relay before the fuses, or what a bus bar joins."""
    return labels.upstream if labels.has_switch_upstream else otherwise


def _switch(labels: DiagramLabels) -> str:
    return _("{module}, smart switch").format(module=labels.module)


def _driver(labels: DiagramLabels) -> str:
    driver = (
        _("{module}, high-side driver")
        if labels.is_high_side
        else _("{module}, low-side driver")
    )
    return driver.format(module=labels.module)
