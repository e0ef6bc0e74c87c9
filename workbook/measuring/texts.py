"""A set-up in words: what is done, what it can hurt, and why it misleads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from workbook.record.bench import Bench, Contact
from workbook.record.circuit import Sign
from workbook.record.set_up import AUTO, FUSES, SetUp
from workbook.texts import _, figure, later

_COMMANDED = {
    "normal": later("switched on"),
    "output test": later("under an output test"),
    "off": later("with no demand"),
}
_PULLED = {
    "out": later("{part} out"),
    "lead": later("fused lead in place of {part}"),
    "jumper": later("{part} out, 30 and 87 bridged by a fused jumper"),
}
_PAST = later("{part} out, B1 and Q1 bridged by a fused jumper")
_TITLES = {
    "volts": later("Volts, plus on {plus}, minus on {minus}"),
    "ohms": later("Ohms between {plus} and {minus}"),
    "scope": later("Scope at {plus} against {minus} as the driver opens"),
    "clamp": later("Clamp around {wire}"),
}
_HOLDERS = {
    "in": later("{part} in its holder"),
    "out": later("the empty holder of {part}"),
}
_BOTH = later("Clamp around {wire} and {back}")
_INSTRUMENTS = {
    "volts": later("meter on volts"),
    "ohms": later("meter on ohms"),
    "scope": later("scope behind a 100:1 probe"),
}
MISLEADING: Mapping[str, str] = MappingProxyType(
    {
        "live": later(
            "Nobody made sure that these points were dead. An ohmmeter divides every "
            "voltage between its leads by its own small current: on live points it "
            "shows OL or a number without meaning, and meter and control module can "
            "be damaged. Switch off and pull the fuse, or take the part out, first."
        ),
        "creeps": later(
            "The clamp was not zeroed: what it showed without current is in the "
            "reading, and it creeps, so that nobody can take it off afterwards. Zero "
            "it with the jaw empty and closed."
        ),
        "both wires": later(
            "Two wires were in the jaw: it adds up what goes through both, so that "
            "what goes and what comes back cancel. Close the clamp around one wire."
        ),
        "no wire": later(
            "There was no wire in the jaw: a clamp closes around a fused lead or a "
            "jumper, not around a fuse in its holder. Put the lead in first."
        ),
        "silicon": later(
            "A smart switch lay between the leads. It has no contacts: an ohmmeter "
            "finds a diode in it, or OL, whatever its state. Unplug its module first."
        ),
        "floating": later(
            "One of the leads was on something that hangs in the air even in a sound "
            "circuit: the meter reads nothing there, or whatever it picks up."
        ),
    }
)
LEAD_BLOWN = later(
    "The fuse of the test lead opened at once: without it lead and fingers "
    "would have burnt. Find the short before you fit another."
)
TOO_NEAR = later(
    "Under some cause this reading lies too near the edge of a band to be told by it. "
    "Tolerances alone could turn it, so it counts for nothing and costs nothing."
)
STILL_SEEN = later("What the fuse that came out looks like still tells.")


def title_of(set_up: SetUp, bench: Bench) -> str:
    """Name a set-up: its instrument, and what is not as it usually is."""
    wires, points = _jaw_labels(set_up, bench), _labels(bench.points)
    form = _BOTH if set_up.back else _TITLES[set_up.instrument]
    where = _(form).format(
        plus=points.get(set_up.plus, ""),
        minus=points.get(set_up.minus, ""),
        wire=wires.get(set_up.wire, ""),
        back=wires.get(set_up.back, ""),
    )
    return ", ".join([where, *state_words(set_up, bench)])


def _jaw_labels(set_up: SetUp, bench: Bench) -> dict[str, str]:
    """Name what the jaw is closed around: a lead or jumper only where it is put."""
    parts, wires = _labels(bench.parts), _labels(bench.wires)
    for fuse in FUSES:
        if fuse in parts and not set_up.has_wire(fuse):
            wires[fuse] = _(_HOLDERS[getattr(set_up, fuse)]).format(part=parts[fuse])
    if not set_up.has_wire("jumper"):
        wires["jumper"] = (
            _("B1 and Q1 without a jumper")
            if bench.is_smart
            else _("30 and 87 without a jumper")
        )
    return wires


def state_words(set_up: SetUp, bench: Bench) -> list[str]:
    """Say what is switched, pulled and plugged, a text each."""
    labels = _labels(bench.parts)
    words = [_(_COMMANDED[set_up.command])]
    pulled = {**_PULLED, "jumper": _PAST} if bench.is_smart else _PULLED
    words += [
        _(pulled[own]).format(part=labels[part]) for part, own in set_up.out.items()
    ]
    return words + ([_("harness moved")] if set_up.harness == "moved" else [])


def _labels(contacts: tuple[Contact, ...]) -> dict[str, str]:
    return {each.id: each.label for each in contacts}


def instrument_text(set_up: SetUp) -> str:
    """Name the instrument with its scale, its zero and its range."""
    if set_up.instrument == "clamp":
        text = (
            _("clamp probe on its {scale} scale, zeroed")
            if set_up.zero == "zeroed"
            else _("clamp probe on its {scale} scale")
        )
        return text.format(scale=f"{set_up.scale} mV/A")
    return _(_INSTRUMENTS[set_up.instrument])


def signs_of(set_up: SetUp, bench: Bench) -> Iterator[Sign]:
    """List what is put where on the diagram, and what is switched or pulled."""
    at = {each.id: each.at for each in (*bench.points, *bench.parts)}
    wire_at = {each.id: each.at for each in bench.wires}
    for part, own in set_up.out.items():
        yield Sign(kind="lead" if own == "lead" else "out", at=at[part])
    if set_up.is_bridged:
        kind = "past" if bench.is_smart else "jumper"
        yield from (Sign(kind=kind, at=end) for end in ("30", "87"))
    if set_up.instrument == "clamp":
        for wire in filter(None, (set_up.wire, set_up.back)):
            yield Sign(kind="clamp", at=wire_at[wire])
    else:
        plus = "scope" if set_up.instrument == "scope" else "plus"
        yield Sign(kind=plus, at=at[set_up.plus])
        yield Sign(kind="minus", at=at[set_up.minus])
    if set_up.harness == "moved":
        yield Sign(kind="moved", at="load_wire")
    yield Sign(kind=set_up.command, at="enable")


def spot_of(set_up: SetUp, bench: Bench) -> str:
    """The spot of the diagram where it reads."""
    here = bench.wires if set_up.instrument == "clamp" else bench.points
    wanted = set_up.wire or set_up.plus
    return next(each.at for each in here if each.id == wanted)


def range_text(instrument: str, id_: str) -> str:
    """Name a range of a meter, such as ``60 V``.

    Examples
    --------
    >>> range_text("volts", "60"), range_text("ohms", "6000000")
    ('60 mV', '6 kΩ')
    """
    if id_ == AUTO:
        return _("range chosen by the meter")
    end = float(id_) / 1000
    if instrument == "ohms":
        return f"{figure(end)} Ω" if end < 1e3 else f"{figure(end / 1e3)} kΩ"
    return f"{figure(end)} V" if end >= 1 else f"{figure(end * 1e3)} mV"
