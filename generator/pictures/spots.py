"""What can be pointed at on a wiring diagram, and where its marks have room.

Signs of a test stand left of the path that they are put on, and so do most readings; a
wire's name stands on its right. Readings of one place that find no room there share the
last one that there is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from generator.pictures.canvas import SHEET_WIDTH, Point
from generator.pictures.labels import DiagramLabels
from generator.pictures.schematic_words import part_names
from workbook.record.circuit import Flag, Spot

BATTERY_X, SUPPLY_Y = 46, 60
CONTROL_X, LOAD_X = 200, 485
_HALF = 17  # of what is pointed at: 24 pixels where the sheet is 490 pixels wide
_LINE = 21
NEIGHBOUR_X = 600
"""Path of what shares the load's ground point."""
_EDGE = 18
_MODULE_LEFT = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Heights on the sheet, by what ends or begins there.

    Parameters
    ----------
    fed, module, driven, relay, switched, load, used, joint, ground : int
        End of the fuses; module from its top to its bottom; relay from its top to its
        bottom; load from its top to its bottom; end of its ground wire; ground signs.
    """

    fed: int
    module: int
    driven: int
    relay: int
    switched: int
    load: int
    used: int
    joint: int
    ground: int


def spots_of(labels: DiagramLabels, layout: Layout) -> tuple[Spot, ...]:
    """List every part, wire and terminal in the order of the current.

    Parameters
    ----------
    labels : DiagramLabels
        What is written on the diagram.
    layout : Layout
        Where it was drawn.
    """
    names = part_names(labels)
    places = _Places(labels, layout)
    drawn = {**places.supply(), **places.control(), **places.load()}
    return tuple(
        Spot(
            id=id_,
            label=names[id_],
            frame=drawn[id_].frame,
            sign=drawn[id_].sign,
            flags=drawn[id_].flags,
        )
        # In the order of the current, not of drawing: so arrow keys go through them.
        for id_ in names
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """A spot without its name."""

    frame: tuple[int, int, int, int]
    sign: Point
    flags: tuple[Flag, ...] = ()


def _around(at: Point, *flags: Flag) -> _Place:
    """Frame a terminal."""
    x, y = at
    frame = (x - _HALF, y - _HALF, 2 * _HALF, 2 * _HALF)
    return _Place(frame=frame, sign=at, flags=flags)


def _along(x: int, top: int, bottom: int, *flags: Flag) -> _Place:
    """Frame a wire or part along a path."""
    frame = (x - _HALF, top, 2 * _HALF, bottom - top)
    return _Place(frame=frame, sign=(x, (top + bottom) // 2), flags=flags)


def _right(x: int, *baselines: int) -> tuple[Flag, ...]:
    width = SHEET_WIDTH - 4 - x
    return tuple(Flag(x=x, y=y, width=width, anchor="start") for y in baselines)


def _left(x: int, to: int, *baselines: int) -> tuple[Flag, ...]:
    return tuple(Flag(x=x, y=y, width=x - to, anchor="end") for y in baselines)


def _between(x: int, to: int, *baselines: int) -> tuple[Flag, ...]:
    return tuple(Flag(x=x, y=y, width=to - x, anchor="start") for y in baselines)


@dataclass(frozen=True, slots=True)
class _Places:
    """Finds the place of each spot."""

    labels: DiagramLabels
    at: Layout

    @property
    def is_module_above(self) -> bool:
        """Whether the module is drawn above the load, and not beside it."""
        return self.labels.is_high_side or self.labels.is_smart

    def supply(self) -> dict[str, _Place]:
        """Find what feeds both circuits."""
        at, control, load = self.at, CONTROL_X, LOAD_X
        # Here and below: where no label of any variant and language stands, as
        # `tests/browser/test_marks.py` measures.
        top, rail = at.fed - 48, at.fed - 72
        places = {
            "supply": _around((BATTERY_X, SUPPLY_Y)),
            "0": _around((BATTERY_X, SUPPLY_Y + 88)),
        }
        if self.labels.has_switch_upstream:
            places["upstream"] = _along(control, SUPPLY_Y + 18, SUPPLY_Y + 98)
        if self.labels.is_smart:
            rows = (top + 14 + n * _LINE for n in range(3))
            fuse = _left(load - 44, load - 164, *rows)
            places["load_fuse"] = _along(load, top, top + 48, *fuse)
            fed = _between(control + 14, load - 44, rail + 20)
        elif self.labels.is_fuse_shared:
            top, rail = top - _EDGE, rail - _EDGE
            fed = _between(control + 90, load, rail + 20)
            fuse = _between(control + 90, load, *(rail + n * _LINE for n in (2, 3, 4)))
            places["shared_fuse"] = _along(control, top, top + 48, *fuse)
        else:
            fed = _between(control + 90, load - 44, rail + 20)
            own = (
                *_between(control + 14, control + 114, at.fed + 19),
                *_left(control - 28, BATTERY_X + 22, top + 20),
            )
            places["control_fuse"] = _along(control, top, top + 48, *own)
            rows = (top + 14 + n * _LINE for n in range(3))
            fuse = _left(load - 44, load - 164, *rows)
            places["load_fuse"] = _along(load, top, top + 48, *fuse)
        places["fed"] = _around((control, rail), *fed)
        return places

    def control(self) -> dict[str, _Place]:
        """Find the control circuit."""
        if self.labels.is_smart:
            return self._switch()
        at, x = self.at, CONTROL_X
        upper, lower = self.labels.coil_pins
        middle = (at.relay + at.switched) // 2
        start = at.driven if self.labels.is_high_side else at.fed
        # A reading at the driver's pin needs the first of them.
        free = (1, 0) if self.labels.is_high_side else (2, 1, 0)
        rows = (at.relay - 33 - n * _LINE for n in free)
        places = {
            "control_feed": _along(x, start, at.relay, *_left(156, 24, *rows)),
            upper: _around(
                (x, at.relay),
                *_left(156, 24, at.relay - 12),
                *_between(x + 14, x + 174, at.relay - 12),
            ),
            "coil": _Place(
                frame=(x - 32, middle - 24, 64, 48),
                sign=(x, middle),
                flags=_between(x + 40, x + 240, middle + 46, middle + 67),
            ),
            lower: _around(
                (x, at.switched),
                *_left(156, 24, at.switched + 22),
                *_between(x + 14, x + 118, at.switched + 22),
            ),
        }
        return places | self._module()

    def _switch(self) -> dict[str, _Place]:
        """Find what is in a module that switches the load itself."""
        at = self.at
        return {
            "enable": _Place(
                frame=(238, at.module + 30, 194, at.driven - at.module - 44),
                sign=(432, at.module + 20),
                flags=_between(34, 184, at.driven - 8),
            ),
            "module": _Place(
                frame=(_MODULE_LEFT, at.module + 60, 150, at.driven - at.module - 76),
                sign=(_MODULE_LEFT, at.module + 70),
                flags=_between(34, 184, at.driven - 50),
            ),
        }

    def _module(self) -> dict[str, _Place]:
        """Find what is on either side of the module, and what is in it."""
        at, x = self.at, CONTROL_X
        below = _left(156, 24, at.driven + 22)
        inside = {
            "module": _along(x, at.module + 50, at.module + 118),
            "enable": _Place(
                frame=(238, at.module + 30, 194, at.driven - at.module - 44),
                sign=(432, at.module + 20),
                flags=_between(34, 184, at.driven - 8),
            ),
        }
        if self.labels.is_high_side:
            back = _along(x, at.switched, at.load)
            pin = _around((x, at.driven), *below)
            return {**inside, "driver_out": pin, "control_return": back}
        above = _left(156, 24, at.module - 12)
        return {
            **inside,
            "control_return": _along(x, at.switched, at.module),
            "driver": _around((x, at.module), *above),
            "module_ground_pin": _around((x, at.driven), *below),
            "module_ground": _along(x, at.driven, at.ground),
        }

    def load(self) -> dict[str, _Place]:
        """Find the load circuit."""
        at, x = self.at, LOAD_X
        middle, right, left = (at.relay + at.switched) // 2, x + 14, x - 44
        contacts = _left(left, x - 215, middle - 33, middle - 12, middle + 24)
        if self.labels.is_smart:
            middle = at.module + 84
            contacts = _between(34, 184, at.driven - 29)
        wire = _left(left, x - 165, at.switched + 22, at.load - 14)
        places = {
            "load_feed": _along(x, at.fed, at.relay, *_right(right, at.relay - 82)),
            "30": _around((x, at.relay)),
            "contacts": _along(x, middle - 34, middle + 34, *contacts),
            "87": _around((x, at.switched)),
            "load_wire": _along(x, at.switched, at.load - 26, *wire),
            "load_connector": _along(
                x, at.load - 26, at.load - 4, *_right(x + 75, at.load - 11)
            ),
            "load": _Place(
                frame=(x - _HALF, at.load, 2 * _HALF, at.used - at.load),
                sign=(x - 26, at.load + 12),
                flags=self._beside_load(),
            ),
            "load_ground": _along(
                x, at.used, at.joint, *_right(right, *self._below_load())
            ),
        }
        # Other parts of the same place.
        places["socket"] = _along(x, at.relay, at.relay + 30)
        places["mechanism"] = _Place(
            frame=(x + 30, at.load + 8, 34, 64), sign=(x + 44, at.used - 6)
        )
        # Left of the load, where nothing is drawn.
        places["surroundings"] = _Place(
            frame=(x - 29, at.used - 23, 10, 26),
            sign=(x - 26, at.used - 10),
        )
        places["load+"] = _around((x, at.load))
        places["load-"] = _around((x, at.used))
        if self.labels.is_ground_shared:
            places["neighbour"] = _Place(
                frame=(x + 16, at.joint + 16, SHEET_WIDTH - x - 22, 50),
                # On the wire to it: its box is full of words.
                sign=(x + 58, at.joint),
            )
        if self.labels.variant.terminals == 5:
            flags = _right(x + 74, at.switched + 22)
            places["87a"] = _around((x + 60, at.switched), *flags)
        return places

    def _beside_load(self) -> tuple[Flag, ...]:
        """Where the module is above it there is room on its left; else below it."""
        at, x = self.at, LOAD_X
        if self.is_module_above:
            rows = (at.load + 24 + n * _LINE for n in range(3))
            return _left(x - 60, x - 240, *rows)
        return _right(x + 14, at.used + 19, at.used + 40)

    def _below_load(self) -> Iterator[int]:
        at = self.at
        yield at.used + (19 if self.is_module_above else 61)
        yield at.joint - 14
