"""What a set-up takes: the places it needs, what is changed, and its reading."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from workbook.measuring.set_up import state_after
from workbook.record.bench import Bench, Contact
from workbook.record.set_up import SetUp

# Minutes of a practised technician (common practice, no source).
_READING_MIN = {"volts": 1.0, "ohms": 1.0, "clamp": 1.0, "scope": 3.0}
_LEADS_MIN = 1.0
_CHANGE_MIN = 1.0
_MOVING_MIN = 3.0
_SLEEP_MIN = 5.0
# What is put somewhere else, zeroed or switched before a reading.
_PUT = ("instrument", "plus", "minus", "wire", "back", "scale", "zero")


@dataclass(frozen=True, slots=True, kw_only=True)
class Minutes:
    """What a set-up takes beside the way to its places.

    Parameters
    ----------
    needs : tuple of str
        Ids of the places.
    changing, reading : float
        Minutes of these changes, and of leads and reading.
    """

    needs: tuple[str, ...]
    changing: float
    reading: float

    @property
    def total(self) -> float:
        """Both together."""
        return self.changing + self.reading


def minutes_after(items: Sequence[str], set_up: SetUp, bench: Bench) -> Minutes:
    """Tell what a set-up takes after some tests, by the items of the journal."""
    before = state_after(items, bench)
    is_moved = any(getattr(before, name) != getattr(set_up, name) for name in _PUT)
    reading = _READING_MIN[set_up.instrument] + (_LEADS_MIN if is_moved else 0.0)
    reading += _MOVING_MIN if set_up.harness == "moved" else 0.0
    return Minutes(
        needs=tuple(needs_of(before, set_up, bench)),
        changing=_changing(before, set_up, bench),
        reading=reading,
    )


def _changing(before: SetUp, set_up: SetUp, bench: Bench) -> float:
    """Minutes of what is pulled and plugged; a module sleeps before it is unplugged."""
    minutes = _CHANGE_MIN * len(changed_parts(before, set_up, bench))
    is_unplugged = before.module == "in" and set_up.module != "in"
    return minutes + (_SLEEP_MIN if is_unplugged else 0.0)


def changed_parts(before: SetUp, after: SetUp, bench: Bench) -> list[Contact]:
    """List the parts that are pulled, plugged or put back between two set-ups."""
    return [
        each
        for each in bench.parts
        if getattr(before, each.id) != getattr(after, each.id)
    ]


def needs_of(before: SetUp, set_up: SetUp, bench: Bench) -> list[str]:
    """Ids of the places that a set-up needs: of leads, clamp, changes and command."""
    ids = (set_up.plus, set_up.minus, set_up.wire, set_up.back)
    contacts = {each.id: each for each in (*bench.wires, *bench.points)}
    places = [_place(contacts[id_], set_up) for id_ in ids if id_]
    places += [each.place for each in changed_parts(before, set_up, bench)]
    if set_up.command == "output test":
        places.append(bench.commanded_at)
    return list(dict.fromkeys(filter(None, places)))


def _place(contact: Contact, set_up: SetUp) -> str:
    """Where a contact is reached: terminals of an empty socket from above."""
    if contact.place == "relay_pins" and set_up.relay != "in":
        return "relay"
    return contact.place
