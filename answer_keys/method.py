"""The instructor's own method: in which order tests are done, by kind and place."""

from __future__ import annotations

from collections.abc import Sequence

from workbook.texts import _

Step = tuple[str, str]
"""How a test's reading is sorted, and the place where it is taken."""

DEFAULT_METHOD: tuple[Step, ...] = (
    ("complaint", "vehicle"),
    ("feed voltage", "battery"),
    ("state", "scan_tool"),
    ("sensed current", "scan_tool"),
    ("state", "fuse_box"),
    ("control current", "fuse_box"),
    ("control current", "relay_pins"),
    ("state", "relay"),
    ("presence", "fuse_box"),
    ("presence", "relay_pins"),
    ("load current", "fuse_box"),
    ("warmth", "fuse_box"),
    ("load current", "relay"),
    ("recorded current", "relay"),
    ("feed voltage", "relay"),
    ("pulled down", "relay"),
    ("to ground", "relay"),
    ("feed voltage", "fuse_box"),
    ("drop", "relay_pins"),
    ("feed voltage", "relay_pins"),
    ("pulled down", "relay_pins"),
    ("turn-off", "relay_pins"),
    ("warmth", "relay"),
    ("warmth", "ground"),
    ("warmth", "load"),
    ("drop", "load"),
    ("recorded current", "ground"),
    ("recorded current", "load"),
    ("load current", "load"),
    ("work", "relay"),
    ("work", "scan_tool"),
    ("state", "load"),
    ("resistance", "relay"),
    ("resistance", "load"),
    ("load current", "module"),
    ("recorded current", "module"),
    ("drop", "module"),
    ("feed voltage", "module"),
    ("pulled down", "module"),
    ("presence", "module"),
)
"""Battery, fuses, currents, socket, drops, mechanics: near and telling comes first."""


def step_text(step: Step) -> str:
    """Write a step as a file has it.

    Examples
    --------
    >>> step_text(("drop", "load"))
    'drop at load'
    """
    return " at ".join(step)


def step_from_text(text: str) -> Step:
    """Read a step of a file.

    Raises
    ------
    ValueError
        Where it is none, with all that there are.
    """
    kind, _at, place = text.partition(" at ")
    if (kind, place) not in DEFAULT_METHOD:
        known = ", ".join(map(step_text, DEFAULT_METHOD))
        raise ValueError(
            _("{text} is no step of a method. Write some of {known}").format(
                text=repr(text), known=known
            )
        )
    return kind, place


def step_of(sorting: str, needs: Sequence[str]) -> Step:
    """The step that a test is: its place is the last it needs but the scan tool.

    Examples
    --------
    >>> step_of("load current", ("fuse_box", "relay", "scan_tool"))
    ('load current', 'relay')
    """
    # The scan tool only commands: what is read is read elsewhere.
    places = [place for place in needs if place != "scan_tool"]
    return sorting, (places or [*needs] or ["vehicle"])[-1]
