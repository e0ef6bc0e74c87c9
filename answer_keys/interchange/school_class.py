"""A class as a school's information system knows it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class OneRosterClass:
    """A class in a school's information system, by its ids there.

    Attributes
    ----------
    id, school, session : str
        The ``sourcedId`` of the class, of its school, and of an academic session in
        which it is held.
    """

    id: str
    school: str
    session: str
