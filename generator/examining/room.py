"""The room of an examination: it writes what students do, and only then gives readings.

A page sends the lines of its journal that the room lacks. The room checks that they go
on from what it has, writes them to its disk, and then answers with the readings that
are due by them: every prediction recorded, what is expected said, the finding before
stated. Asked again it says the same again. What it has written is what the student
hands in.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Annotated, Any

import msgspec
from filelock import FileLock, Timeout
from msgspec import Meta, Struct

from answer_keys.errors import RefusedError
from answer_keys.keys.answer_key import AnswerKey, Readings
from answer_keys.keys.class_secret import ClassSecret
from answer_keys.keys.offered_set_ups import reading_of_set_up
from answer_keys.written_files import new_private_folder
from generator.errors import RoomError
from generator.examining.schedule import Deed, EventLog, Phase
from generator.examining.seal import write_seal
from generator.examining.work_record import ConflictError, Count, Part, WorkRecord
from workbook.record.bench import is_code
from workbook.record.journal import Owner
from workbook.record.plain import plain
from workbook.record.readings import Reading
from workbook.texts import speaking

MAX_REQUEST_BYTES = 400_000
"""A whole journal of ten exercises has about 90,000."""
HERE = timedelta(seconds=40)
"""A page that has said nothing for so long is not there: it asks every five seconds."""

MAX_WINDOWS = 200
"""Kept of one student; every time that a page is loaded it is another one."""
_MAX_REFUSED = 100  # of one student, for the protocol: the next thousand say no more


class _Sent(Struct, forbid_unknown_fields=True):
    """What a page sends: who it is, what it has, and what it holds already."""

    window: Annotated[str, Meta(pattern=r"^[a-z0-9]{4,20}$")]
    sessions: Annotated[dict[str, Part], Meta(max_length=200)]
    held: Annotated[tuple[str, ...], Meta(max_length=2_000)] = ()
    exercise: Count = 0


_SENT = msgspec.json.Decoder(_Sent)


class UnknownCodeError(RefusedError):
    """Nobody has this code."""


@dataclass(slots=True)
class Seat:
    """What the room knows of one student while it runs."""

    student: str
    name: str
    record: WorkRecord | None = None
    readings: Readings = field(default_factory=dict)
    windows: dict[str, datetime] = field(default_factory=dict)
    exercise: int = 0
    exercise_since: datetime | None = None
    given: set[str] = field(default_factory=set)
    refused: int = 0
    lock: threading.Lock = field(default_factory=threading.Lock)


def _alone_in(folder: Path) -> FileLock:
    """Keep other programs out of a room for as long as this one lives.

    The system frees what a program held that was killed.
    """
    lock = FileLock(folder / "open.lock")
    try:
        lock.acquire(blocking=False)
    except Timeout as error:
        raise RoomError(
            folder,
            "another program has this room open, and two would write one record. Go on "
            "there, or end it first",
        ) from error
    return lock


class Room:
    """The room of one class set.

    Parameters
    ----------
    folder : pathlib.Path
        Of its record; made where it is missing.
    codes : mapping of str to (str, str)
        Id and name of each student by the code that stands in the link.
    secret, key : ClassSecret, AnswerKey
        Of the set, which is an examination.
    clock : callable
        Gives the present time, aware of its zone.

    Raises
    ------
    RoomError
        Where the set is no examination, its record was changed, or another program
        has its room open.
    """

    def __init__(
        self,
        folder: Path,
        codes: Mapping[str, tuple[str, str]],
        secret: ClassSecret,
        key: AnswerKey,
        clock: Callable[[], datetime] = lambda: datetime.now(UTC),
    ) -> None:
        if key.mode != "examination":
            raise RoomError(folder, "its set is no examination")
        new_private_folder(folder)
        self._held = _alone_in(folder)
        self.folder, self.set_id, self.clock = folder, key.set_id, clock
        self._secret, self._key = secret, key
        self.log = EventLog(folder / "events.jsonl", clock)
        self.seats = {id_: Seat(student=id_, name=name) for id_, name in codes.values()}
        self._by_code = {code: self.seats[id_] for code, (id_, _) in codes.items()}
        self._lock = threading.Lock()

    def open_seats(self) -> None:
        """Read what every student has done and may read, before anybody asks.

        It takes some milliseconds each, and a class comes all at once.

        Raises
        ------
        RoomError
            Where a file of the record was changed.
        """
        for seat in self.seats.values():
            self.record_of(seat)

    # ---- what students' pages ask ----------------------------------------------

    def exchange(self, code: str, body: bytes) -> dict[str, Any]:
        """Take what a page sends, and answer with what is due.

        Parameters
        ----------
        code : str
            The student's own, as in the link.
        body : bytes
            JSON: ``window`` names the page, ``sessions`` has for each session where
            its ``lines`` stand, ``held`` names the readings that the page has, as
            ``exercise/test``, ``exercise`` is where the student is.

        Returns
        -------
        dict
            ``phase`` and ``ends`` of the examination; ``counts``, how many lines the
            room has of each session; ``lines`` that the page lacks; ``readings``.

        Raises
        ------
        UnknownCodeError
            Where the code is nobody's.
        RefusedError
            Where what is sent is no such thing, or cannot come next; nothing of it was
            written.
        RoomError
            Where the disk takes nothing.
        """
        seat = self._by_code.get(code)
        if seat is None:
            raise UnknownCodeError("nobody has this code")
        if len(body) > MAX_REQUEST_BYTES:
            raise RefusedError("this is too much at once")
        try:
            sent = _SENT.decode(body)
        except msgspec.DecodeError as error:
            raise RefusedError(f"this is no request of a page ({error})") from error
        # Two windows of one student take turns: each is checked against what the other
        # wrote.
        with seat.lock:
            return self._exchanged(seat, sent)

    def _exchanged(self, seat: Seat, sent: _Sent) -> dict[str, Any]:
        record, now = self.record_of(seat), self.clock()
        phase = self.log.schedule.phase(seat.student, now)
        self._seen(seat, sent, now)
        # In a pause steps are still taken, and readings alone are kept back. Before the
        # start and after the end nothing is, but the page hears what the room has.
        if phase in {"running", "paused"}:
            try:
                record.take({n: one for n, one in sent.sessions.items() if one.lines})
            except ConflictError as error:
                self._refused(seat, error.reason)
                raise
        # By what the page has said, and before what it lacks is looked for: its own
        # lines do not come back to it.
        known = {n: one.at + len(one.lines) for n, one in sent.sessions.items()}
        ends = self.log.schedule.ends_at(seat.student, now)
        return {
            "phase": phase,
            "left_s": None if ends is None else max(0.0, (ends - now).total_seconds()),
            "counts": record.counts,
            "lines": msgspec.to_builtins(record.beyond(known)),
            "readings": self._readings(
                seat, set(sent.held), is_running=phase == "running"
            ),
            "windows": self.windows_of(seat, now),
        }

    def _readings(
        self, seat: Seat, held: set[str], *, is_running: bool
    ) -> list[dict[str, Any]]:
        """Give every reading that is due by what is on the disk, new ones in time."""
        found = []
        for exercise, test in due_readings(self.record_of(seat)):
            place = f"{exercise}/{test}"
            if place in held or not (is_running or place in seat.given):
                continue
            # Noted before it is answered: the protocol may name one that never arrived,
            # and none that did is missing there.
            if place not in seat.given:
                seat.given.add(place)
                self.note("reading", seat.student, text=place)
            reading = self._reading(seat, exercise, test)
            found.append({"exercise": exercise, "item": test, **plain(reading)})
        return found

    def _reading(self, seat: Seat, exercise: int, test: str) -> Reading:
        """The reading of a test of the list, or of what the student has set up."""
        if not is_code(test):
            return seat.readings[exercise][test]
        with speaking(self._key.language):
            return reading_of_set_up(self.record_of(seat).offered[exercise], test)

    def _seen(self, seat: Seat, sent: _Sent, now: datetime) -> None:
        # Whoever makes up windows shall fill neither the protocol nor the memory with
        # them; whose work it is goes on all the same.
        is_known = sent.window in seat.windows
        if is_known or len(seat.windows) < MAX_WINDOWS:
            if not is_known:
                self.note("window", seat.student, text=sent.window)
            seat.windows[sent.window] = now
        if sent.exercise and sent.exercise != seat.exercise:
            seat.exercise, seat.exercise_since = sent.exercise, now

    def _refused(self, seat: Seat, reason: str) -> None:
        """Note that lines were refused; whoever goes on trying fills no disk."""
        seat.refused += 1
        if seat.refused <= _MAX_REFUSED:
            self.note("refused", seat.student, text=reason)

    # ---- what the supervisor does -----------------------------------------------

    def start(self, minutes: float = 0.0) -> None:
        """Let all begin; after so many minutes, where any are said, it is over."""
        self._do("start", minutes=minutes)

    def pause(self) -> None:
        """Give no readings until `resume`; a pause lengthens the time."""
        self._do("pause")

    def resume(self) -> None:
        """Go on after a pause."""
        self._do("resume")

    def stop(self) -> None:
        """End it for all who have no more time."""
        self._do("stop")

    def more(self, student: str, minutes: float) -> None:
        """Give one student more time, from the end or, where that is past, from now.

        Raises
        ------
        RoomError
            Where there is no such student.
        """
        if student not in self.seats:
            raise RoomError(self.folder, f"there is no student {student!r}")
        now = self.clock()
        ends = self.log.schedule.ends_at(student, now)
        gone = 0.0 if ends is None else (now - ends).total_seconds() / 60
        self._do("more", student, minutes + max(0.0, gone))

    def seal(self) -> None:
        """End it for good: nothing is taken any more, and a change would show."""
        self._do("seal")
        for seat in self.seats.values():
            with seat.lock:  # what is being written at this moment is in it
                pass
        write_seal(self.folder, self._secret)

    def _do(self, kind: Deed, student: str = "", minutes: float = 0.0) -> None:
        with self._lock:
            self.log.add(kind, student, minutes)

    def note(self, kind: Deed, student: str, text: str = "") -> None:
        """Note something for the protocol; what is sealed stays as it is."""
        with self._lock:
            if self.log.schedule.sealed is None:
                self.log.add(kind, student, text=text)

    # ---- what both need ------------------------------------------------------------

    def phase(self, student: str = "") -> Phase:
        """Tell how it stands for one student, or for all who have no more time."""
        return self.log.schedule.phase(student, self.clock())

    def record_of(self, seat: Seat) -> WorkRecord:
        """Give the record of a student, read from the disk where it is not yet."""
        if seat.record is None:
            owner = Owner(
                set_id=self._key.set_id,
                student=seat.student,
                edition=self._key.edition,
            )
            seat.readings = self._key.readings_of(seat.student)
            offered = self._key.offered_to(seat.student)
            seat.record = WorkRecord(self.folder, owner, offered)
            seat.given = {
                event.text
                for event in self.log.events
                if event.kind == "reading" and event.student == seat.student
            }
        return seat.record

    def windows_of(self, seat: Seat, now: datetime) -> int:
        """Count the windows and machines that are open with a student's code."""
        return sum(now - at < HERE for at in seat.windows.values())


def due_readings(record: WorkRecord) -> list[tuple[int, str]]:
    """Name the readings that are due, by exercise and test.

    A test counts where it comes in its turn (`workbook.record.progress`), and after
    all predictions: where a page has left that out, it gets none of that exercise.
    """
    return [
        (number, test.item)
        for number, done in sorted(record.progress.items())
        if done.predictions.keys()
        >= {asked.id for asked in record.offered[number].predictions}
        for test in done.tests
    ]
