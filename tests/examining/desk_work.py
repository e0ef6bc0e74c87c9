"""Students of an examination, as their pages send what they record."""

import json
import secrets
from datetime import UTC, datetime, timedelta
from pathlib import Path

from workbook.record.entries import (
    ChosenTest,
    Conclusion,
    Finding,
    Prediction,
    Verification,
)
from workbook.record.journal import Journal, Owner

BEGUN = datetime(2026, 11, 30, 8, tzinfo=UTC)


class Clock:
    """A clock that a test sets."""

    def __init__(self):
        self.now = BEGUN

    def __call__(self):
        return self.now

    def ahead(self, minutes):
        """Let some time go by."""
        self.now += timedelta(minutes=minutes)


class Page:
    """One page of a student: a journal of its own, and what the room said last."""

    def __init__(self, folder: Path, owner: Owner, clock):
        self.journal = Journal(folder, owner, clock)
        self.window = secrets.token_hex(4)
        self.readings = {}
        self.reply = {}

    @property
    def lines(self):
        """All lines of its journal."""
        if not self.journal.path.exists():
            return []
        return self.journal.path.read_text("utf-8").split("\n")[:-1]

    def record(self, *entries):
        """Record steps, each a second later."""
        for entry in entries:
            self.journal.append(entry)
            self.journal._clock.ahead(1 / 60)
        return self

    def body(self, at=0, **changes):
        """What it sends: its lines from a place on."""
        sent = {
            "window": self.window,
            "sessions": {self.journal.session: {"at": at, "lines": self.lines[at:]}},
            "held": sorted(self.readings),
            **changes,
        }
        return json.dumps(sent).encode()

    def send(self, exchange):
        """Send what is new, and keep the readings."""
        self.reply = exchange(self.body())
        for one in self.reply["readings"]:
            self.readings[f"{one['exercise']}/{one['item']}"] = one["display"]
        return self.reply


def predictions(record):
    """All predictions of an exercise, right ones."""
    return [
        Prediction(
            exercise=record.exercise,
            item=each.id,
            raw=f"{each.value:.4g} {each.unit}",
            value=float(f"{each.value:.4g}"),
            unit=each.unit,
        )
        for each in record.predictions
    ]


def choice_of(record, test_id):
    """Choose a test, with what a sound circuit shows."""
    expected = record.test(test_id).sound_outcome
    return ChosenTest(exercise=record.exercise, item=test_id, expected=expected)


def finding(record, test_id):
    """State what a reading shows, rightly."""
    test = record.test(test_id)
    return Finding(
        exercise=record.exercise,
        item=test_id,
        outcome=test.outcome,
        statement=test.statement,
    )


def ending(record):
    """Conclude and verify, rightly."""
    right = record.fault
    cause = next(c.id for c in record.causes if c.fault == right.id)
    correction = next(c.id for c in record.corrections if c.repair == right.repair)
    after = record.verification
    return [
        Conclusion(
            exercise=record.exercise,
            item="conclusion",
            cause=cause,
            correction=correction,
        ),
        Verification(
            exercise=record.exercise,
            item=after.id,
            raw=f"{after.value:.4g} {after.unit}",
            value=float(f"{after.value:.4g}"),
            unit=after.unit,
        ),
    ]


def whole_work(record):
    """Steps of a whole exercise along its plan, in groups that end in a test."""
    groups = [predictions(record)]
    for test_id in record.planned:
        groups[-1].append(choice_of(record, test_id))
        groups.append([finding(record, test_id)])
    groups[-1] += ending(record)
    return groups
