"""The code of a set-up, and what it may be made of on one circuit.

Each set-up has one text, its code, which a journal holds as it holds the id of a test:

    @test lf=lead clamp load_fuse 10
    @off re=out moved volts 86 0 60000

The command comes first, then what is not in its place, in the order of `PARTS`, whether
the harness is moved, and the instrument: with two points and a range unless that is
chosen by the meter, or with one wire or two, the scale and ``creeps`` where the clamp
was not zeroed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import fields

from workbook.errors import RefusedError
from workbook.record.bench import MARK, Bench, Contact, is_code
from workbook.record.set_up import AT_POINTS, AUTO, COMMANDS, PARTS, SetUp
from workbook.texts import _


def code_of(set_up: SetUp) -> str:
    """Write a set-up as its code.

    Examples
    --------
    >>> code_of(SetUp(command="off", relay="out", plus="86", minus="0"))
    '@off re=out volts 86 0'
    """
    plain = set_up.plain
    words = [f"{MARK}{COMMANDS[plain.command]}"]
    words += [f"{PARTS[part][0]}={own}" for part, own in plain.out.items()]
    words += ["moved"] if plain.harness == "moved" else []
    words.append(plain.instrument)
    if plain.instrument == "clamp":
        words += [plain.wire, *filter(None, [plain.back]), plain.scale]
        words += ["creeps"] if plain.zero == "not zeroed" else []
    else:
        words += [plain.plus, plain.minus]
        words += [] if plain.range == AUTO else [plain.range]
    return " ".join(words)


def set_up_of(code: str, bench: Bench) -> SetUp:
    """Read a code.

    Raises
    ------
    RefusedError
        Where it is none, is not written as `code_of` writes it, or names what the
        circuit does not have.
    """
    found = _read(code.removeprefix(MARK).split(" "))
    # One spelling each: what is known of a set-up is found by its code.
    if found is None or code_of(found) != code:
        raise RefusedError(_("This is not how a set-up is written."))
    check(found, bench)
    return found


def _read(words: list[str]) -> SetUp | None:
    """Read the words of a code; None where they cannot be those of one."""
    spoken = {word: name for name, word in COMMANDS.items()}
    parts = {f"{w}={own}": (p, own) for p, (w, every) in PARTS.items() for own in every}
    told: dict[str, str] = {"command": spoken.get(words[0], "")}
    rest = words[1:]
    # In any order here: `code_of` then refuses what it would have written otherwise.
    while rest and rest[0] in parts:
        part, own = parts[rest.pop(0)]
        told[part] = own
    if rest and rest[0] == "moved":
        told["harness"] = rest.pop(0)
    told["instrument"], *where = rest or [""]
    if not told["command"] or not 2 <= len(where) <= 4:
        return None
    read = _read_clamp if told["instrument"] == "clamp" else _read_points
    return read(told, where)


def _read_clamp(told: Mapping[str, str], where: list[str]) -> SetUp | None:
    if creeps := where[-1] == "creeps":
        where = where[:-1]
    if not 2 <= len(where) <= 3:
        return None
    zero = "not zeroed" if creeps else "zeroed"
    wire, *back, scale = where
    return SetUp(**told, wire=wire, back="".join(back), scale=scale, zero=zero)


def _read_points(told: Mapping[str, str], where: list[str]) -> SetUp | None:
    if not 2 <= len(where) <= 3:
        return None
    plus, minus, *chosen = where
    return SetUp(**told, plus=plus, minus=minus, range="".join(chosen) or AUTO)


def check(set_up: SetUp, bench: Bench) -> None:
    """Refuse a set-up that the circuit cannot be put into.

    Raises
    ------
    RefusedError
        With a sentence for the student.
    """
    for name, allowed in _allowed(set_up, bench):
        if getattr(set_up, name) not in allowed:
            text = _("This circuit has no such choice: {name} {choice}.")
            choice = getattr(set_up, name) or "-"
            raise RefusedError(text.format(name=name.replace("_", " "), choice=choice))
    if set_up.plus and set_up.plus == set_up.minus:
        raise RefusedError(_("Put the two leads on two different points."))
    if set_up.wire and set_up.wire == set_up.back:
        raise RefusedError(_("Close the clamp around two different wires, or one."))
    if set_up.module != "in" and set_up.command == "output test":
        text = _(
            "The scan tool finds no module while it is unplugged: plug it in, or take "
            "off the demand."
        )
        raise RefusedError(text)
    if set_up.instrument == "scope" and set_up.command == "off":
        text = _(
            "Without a demand the driver has nothing to let go, and the scope no edge: "
            "command the load first."
        )
        raise RefusedError(text)


def _allowed(set_up: SetUp, bench: Bench) -> Iterable[tuple[str, Iterable[str]]]:
    """Give each field with what it may be."""
    yield "command", COMMANDS
    for part in PARTS:
        yield part, options_of(part, bench)
    yield "harness", ("at rest", "moved")
    yield "instrument", instruments_of(bench)
    yield "zero", ("zeroed", "not zeroed")
    if set_up.instrument == "clamp":
        wires = ids_of(bench.wires)
        yield "wire", wires
        yield "back", ("", *wires)
        yield "scale", bench.scales
    else:
        points = ids_of(bench.points)
        yield "plus", points
        yield "minus", points
        yield "range", (AUTO, *bench.ranges.get(set_up.instrument, ()))


def options_of(part: str, bench: Bench) -> tuple[str, ...]:
    """Tell what can be done with a part: with what the circuit has not, nothing."""
    _word, options = PARTS[part]
    if bench.part(part) is None:
        return options[:1]
    # A jumper goes into the socket of a relay, or into the plug of a smart switch.
    return options if part != "module" or bench.is_smart else options[:-1]


def instruments_of(bench: Bench) -> tuple[str, ...]:
    """Name what can be put on: a scope is for the coil of a relay."""
    return tuple(
        each for each in (*AT_POINTS, "clamp") if each != "scope" or not bench.is_smart
    )


def ids_of(contacts: Iterable[Contact]) -> list[str]:
    """Give the ids of points, wires or parts."""
    return [each.id for each in contacts]


def item_of(set_up: SetUp, bench: Bench) -> str:
    """Give what a journal calls a set-up: a test of the list, if it is one.

    Raises
    ------
    RefusedError
        Where the circuit cannot be put into it.
    """
    check(set_up.plain, bench)
    code = code_of(set_up)
    return bench.listed.get(code, code)


def state_after(items: Sequence[str], bench: Bench) -> SetUp:
    """Tell how the vehicle stands after some tests, by the items of the journal.

    What was pulled stays pulled until it is put back. What is looked at is put back.
    """
    codes = {item: code for code, item in bench.listed.items()}
    for item in reversed(items):
        code = codes.get(item, item)
        if is_code(code):
            return set_up_of(code, bench)
    return SetUp()


def from_fields(sent: Mapping[str, object]) -> SetUp:
    """Take a set-up as a page sends it; it may send anything.

    Raises
    ------
    RefusedError
        Where it holds something else than texts.
    """
    known = {each.name for each in fields(SetUp)}
    own = {name: value for name, value in sent.items() if name in known}
    if not all(isinstance(value, str) for value in own.values()):
        raise RefusedError(_("The page sent something that is not known here."))
    text: Callable[[object], str] = str
    return SetUp(**{name: text(value) for name, value in own.items()}).plain
