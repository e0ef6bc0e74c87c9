"""The circuit of an exercise as a page shows it: picture, sheet, sections, places."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Row = tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A section of the circuit, in the control circuit, the load circuit or both."""

    id: str
    label: str
    branch: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """Something that a reading could prove: sections cleared, and still suspect."""

    id: str
    text: str
    cleared: tuple[str, ...]
    suspect: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Flag:
    """Room for one reading beside its place: one end of its baseline, and its width.

    In units of the diagram.
    """

    x: int
    y: int
    width: int
    anchor: Literal["start", "end"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A part, wire or terminal on the diagram, in units of the diagram.

    Parameters
    ----------
    id : str
        A section of the circuit, or a terminal as the network names it.
    label : str
        Its name in words.
    frame : tuple of int
        Left, top, width and height of where it is pointed at.
    sign : tuple of int
        Where a sign that it is cleared or suspect stands.
    flags : tuple of Flag
        Where its readings stand.
    """

    id: str
    label: str
    frame: tuple[int, ...]
    sign: tuple[int, ...]
    flags: tuple[Flag, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """Something that a test puts on a spot: a probe, the clamp, a jumper's end."""

    kind: str
    at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """What a student has of a circuit before anything is done.

    Parameters
    ----------
    complaint : str
        What the operator says; empty where the exercise does not tell it.
    svg, alt : str
        The wiring diagram, and the same in two sentences.
    spots : tuple of Spot
        What can be pointed at on it.
    parts : tuple of tuple of str
        The circuit in words: part, from, to, note.
    sheet : tuple of tuple of str
        The specification: quantity, value, tolerance.
    """

    complaint: str
    svg: str
    alt: str
    spots: tuple[Spot, ...]
    parts: tuple[Row, ...]
    sheet: tuple[Row, ...]
