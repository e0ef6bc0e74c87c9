"""When an examination runs: what the supervisor did, and what follows from it.

Times are those of the instructor's machine alone.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Literal

import msgspec

from generator.errors import RoomError
from generator.examining.appending import append_whole, whole_lines

Phase = Literal["waiting", "running", "paused", "over", "sealed"]
Deed = Literal[
    "start", "pause", "resume", "stop", "more", "seal", "window", "reading", "refused"
]
# What the supervisor did is on the disk before it holds; the rest is for the protocol.
_SYNCED = {"start", "pause", "resume", "stop", "more", "seal"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """Something that happened in the room.

    Attributes
    ----------
    at : datetime.datetime
        Aware of its zone.
    minutes : float
        Of a start how long it lasts, 0 without an end; of more time, how much.
    text : str
        Which window it was, which reading was given, why lines were refused.
    """

    at: datetime
    kind: Deed
    student: str = ""
    minutes: float = 0.0
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """What holds after some events."""

    started: datetime | None = None
    minutes: float = 0.0
    paused_since: datetime | None = None
    paused_for: timedelta = timedelta()
    stopped: datetime | None = None
    sealed: datetime | None = None
    more: dict[str, float] = field(default_factory=dict)

    def phase(self, student: str, now: datetime) -> Phase:
        """Tell how it stands for a student; "" is for all who have no more time."""
        if self.sealed:
            return "sealed"
        if self.started is None:
            return "waiting"
        ends = self.ends_at(student, now)
        if ends is not None and now >= ends:
            return "over"
        return "paused" if self.paused_since else "running"

    def ends_at(self, student: str, now: datetime) -> datetime | None:
        """Give the end for a student, None where there is none."""
        if self.started is None:
            return None
        more = timedelta(minutes=self.more.get(student, 0.0))
        if self.stopped is not None:
            return self.stopped + more
        if not self.minutes:
            return None
        # While a pause lasts, the end goes on moving with the clock.
        paused = self.paused_for + (now - (self.paused_since or now))
        return self.started + timedelta(minutes=self.minutes) + paused + more


def schedule_of(events: Iterable[Event]) -> Schedule:
    """Fold events into what holds; one that makes no sense there changes nothing."""
    now = Schedule()
    for event in events:
        match event.kind:
            case "start" if now.started is None:
                now = replace(now, started=event.at, minutes=event.minutes)
            case "pause" if now.started and not now.paused_since:
                now = replace(now, paused_since=event.at)
            case "resume" if now.paused_since:
                paused_for = now.paused_for + (event.at - now.paused_since)
                now = replace(now, paused_since=None, paused_for=paused_for)
            case "stop" if now.started and not now.stopped:
                now = replace(now, stopped=event.at)
            case "more":
                minutes = now.more.get(event.student, 0.0) + event.minutes
                now = replace(now, more=now.more | {event.student: minutes})
            case "seal" if not now.sealed:
                now = replace(now, sealed=event.at)
    return now


_EVENT = msgspec.json.Decoder(Event)


class EventLog:
    """The events of a room, in a file that only grows.

    Raises
    ------
    RoomError
        Where the file was changed.
    """

    def __init__(self, path: Path, clock: Callable[[], datetime]) -> None:
        self._path = path
        self._clock = clock
        self.events: list[Event] = []
        if path.exists():
            # Half a line was written when the machine went down, and has never held.
            try:
                self.events = [_EVENT.decode(line) for line in whole_lines(path)]
            except msgspec.DecodeError as error:
                raise RoomError(
                    path, "was changed after it was written; put back the file"
                ) from error
        self.schedule = schedule_of(self.events)

    def add(
        self, kind: Deed, student: str = "", minutes: float = 0.0, text: str = ""
    ) -> None:
        """Note an event; what the supervisor did is on the disk when this returns."""
        at = self._clock().astimezone(UTC)
        event = Event(at=at, kind=kind, student=student, minutes=minutes, text=text)
        line = json.dumps({**asdict(event), "at": at.isoformat()}, ensure_ascii=False)
        data = f"{line}\n".encode()
        try:
            if kind in _SYNCED:
                append_whole(self._path, data)
            else:
                with self._path.open("ab") as file:
                    file.write(data)
        except OSError as error:
            raise RoomError(
                self._path,
                f"cannot be written ({error.strerror}); make room on the disk",
            ) from error
        self.events.append(event)
        if kind in _SYNCED:
            self.schedule = schedule_of(self.events)
