"""The readings of an examination, which the instructor's machine gives one by one.

The page keeps those that it got beside the journals, so that they are there when the
network is not. They are no part of the record: a lost one is given again.
"""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from workbook.record.circuit import Statement
from workbook.record.payload import Exercise, Picture
from workbook.record.plain import plain, record_from


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What an instrument displays, and in which ``range`` where it has ranges.

    Only one with a screen has a ``picture``; ``is_typed`` where a student has typed it
    from a slip of paper. That of a set-up has the ``statements`` of what it could
    prove, which a test of the list has beforehand.
    """

    display: str
    picture: Picture | None = None
    range: str = ""
    is_typed: bool = False
    statements: tuple[Statement, ...] = ()


class ReadingsKept:
    """The readings that a page has, by ``exercise/test``, in a file of theirs.

    Parameters
    ----------
    path : pathlib.Path
        The file; one that cannot be read or written is as good as none.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._known: dict[str, Reading] = {}
        with suppress(OSError, ValueError, TypeError, KeyError, AttributeError):
            found = json.loads(path.read_bytes())
            self._known = {at: record_from(Reading, each) for at, each in found.items()}

    @property
    def given(self) -> list[str]:
        """Where readings are known that the instructor's machine has given."""
        return sorted(at for at, each in self._known.items() if not each.is_typed)

    def keep(self, exercise: int, test: str, reading: Reading) -> None:
        """Keep a reading; one that was typed gives way to what is given."""
        self._known[f"{exercise}/{test}"] = reading
        text = json.dumps({at: plain(each) for at, each in self._known.items()})
        part = self._path.with_suffix(".part")
        with suppress(OSError):
            part.write_text(text, encoding="utf-8")
            part.replace(self._path)

    def filled(self, exercise: Exercise) -> Exercise:
        """Put what is known into an exercise; else its displays stay empty."""
        tests = tuple(
            replace(
                test,
                display=known.display,
                picture=known.picture,
                range=known.range,
                statements=known.statements or test.statements,
            )
            if (known := self._known.get(f"{exercise.number}/{test.id}"))
            else test
            for test in exercise.tests
        )
        return replace(exercise, tests=tests)
