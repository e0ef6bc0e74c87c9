"""What a supervisor sees of a room: who is where, since when, and what is open."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from answer_keys.keys.offered_set_ups import with_set_up
from generator.examining.room import Room, Seat, due_readings
from generator.examining.schedule import Event, Phase
from generator.examining.work_record import WorkRecord
from workbook.record.progress import ExerciseProgress
from workbook.texts import _


@dataclass(frozen=True, slots=True, kw_only=True)
class SeatState:
    """How one student stands.

    Attributes
    ----------
    is_here : bool
        Whether a page with the student's code was heard of just now.
    seen_at, since : datetime.datetime or None
        When it was heard of last; since when the student is in ``exercise``.
    exercise : int
        Where the student is; 0 before the first.
    steps : tuple of str
        What is open in each exercise, in words.
    windows : int
        Pages that are open with the code: more than one are worth a look.
    refused : int
        How often lines were refused that would have changed what was recorded.
    more_minutes : float
        Time given on top.
    """

    student: str
    name: str
    phase: Phase
    is_here: bool
    seen_at: datetime | None
    exercise: int
    since: datetime | None
    steps: tuple[str, ...]
    done: int
    entries: int
    windows: int
    refused: int
    more_minutes: float
    ends_at: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomState:
    """A whole room at one moment."""

    set_id: str
    now: datetime
    phase: Phase
    started_at: datetime | None
    ends_at: datetime | None
    seats: tuple[SeatState, ...]


def state_of(room: Room) -> RoomState:
    """Tell how a room stands, in the language spoken."""
    now, schedule = room.clock(), room.log.schedule
    refused = Counter(e.student for e in room.log.events if e.kind == "refused")
    return RoomState(
        set_id=room.set_id,
        now=now,
        phase=room.phase(),
        started_at=schedule.started,
        ends_at=schedule.ends_at("", now),
        seats=tuple(
            _seat(room, seat, now, refused[seat.student])
            for seat in room.seats.values()
        ),
    )


def _seat(room: Room, seat: Seat, now: datetime, refused: int) -> SeatState:
    # While a page sends, what is counted here would not belong together.
    with seat.lock:
        record, windows = room.record_of(seat), room.windows_of(seat, now)
        steps = tuple(open_step(record, number) for number in sorted(record.offered))
        entries = len(record.entries)
    schedule = room.log.schedule
    return SeatState(
        student=seat.student,
        name=seat.name,
        phase=schedule.phase(seat.student, now),
        is_here=windows > 0,
        seen_at=max(seat.windows.values(), default=None),
        exercise=seat.exercise,
        since=seat.exercise_since,
        steps=steps,
        done=steps.count(_("done")),
        entries=entries,
        windows=windows,
        refused=refused,
        more_minutes=schedule.more.get(seat.student, 0.0),
        ends_at=schedule.ends_at(seat.student, now),
    )


def open_step(record: WorkRecord, number: int) -> str:
    """Say what is open in an exercise."""
    offered = record.offered[number]
    done = record.progress.get(number, ExerciseProgress())
    if done.verification is not None:
        return _("done")
    if done.cause is not None:
        return _("verification open")
    if not done.predictions:
        return _("not begun")
    if len(done.predictions) < len(offered.predictions):
        return _("predicting")
    if done.finding_due:
        # Where a prediction was left out no reading will ever come: the supervisor has
        # to help.
        due = (number, done.finding_due) in due_readings(record)
        title = with_set_up(offered, done.finding_due).test(done.finding_due).title
        return _("finding open: {test}").format(test=title) if due else _("stuck")
    return _("tests done: {count}").format(count=len(done.tests))


def protocol_rows(room: Room) -> Iterator[tuple[datetime, str]]:
    """Give what happened in a room, line by line in words, for the record on paper."""
    names = {
        seat.student: f"{seat.name} ({seat.student})" for seat in room.seats.values()
    }
    for event in room.log.events:
        yield event.at, event_text(event, names.get(event.student, event.student))


def event_text(event: Event, name: str) -> str:
    """Say in words what happened."""
    minutes = f"{event.minutes:.0f}"
    match event.kind:
        case "start":
            if event.minutes:
                return _("Started, for {minutes} minutes").format(minutes=minutes)
            return _("Started, without an end")
        case "pause":
            return _("Paused")
        case "resume":
            return _("Went on after the pause")
        case "stop":
            return _("Ended")
        case "more":
            text = _("{name}: {minutes} more minutes")
            return text.format(name=name, minutes=minutes)
        case "seal":
            return _("Sealed")
        case "window":
            text = _("{name}: opened in window {window}")
            return text.format(name=name, window=event.text)
        case "reading":
            exercise, _slash, test = event.text.partition("/")
            text = _("{name}: reading given, exercise {exercise}, {test}")
            return text.format(name=name, exercise=exercise, test=test)
        case "refused":
            text = _("{name}: lines refused ({reason})")
            return text.format(name=name, reason=event.text)
