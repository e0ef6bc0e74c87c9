"""Answer the page's messages; no widget, no kernel needed.

The page sends ``{"id": ..., "action": ..., ...}`` and gets exactly one reply with the
same id, whatever happens. A number is recorded only in the spelling that was echoed
before, so that the student has seen how it was read.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from workbook.errors import JournalError, QuantityError, RefusedError, WorkbookError
from workbook.judging.questions import answer_fields
from workbook.measuring.set_up import from_fields
from workbook.page.session import KernelSession
from workbook.quantities import Ambiguous, Quantity, read_quantity
from workbook.record.bench import is_code
from workbook.record.entries import OWN_FIELDS, Entry, step_from
from workbook.record.payload import NumberAsked
from workbook.record.plain import record_from
from workbook.record.readings import Reading
from workbook.texts import _, later
from workbook.units import load_units
from workbook.views.bench_view import LOOKS, looked_at
from workbook.views.own_view import own_view
from workbook.views.set_up_view import set_up_told, whole
from workbook.views.view import exercise_view
from workbook.views.view_parts import notice

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """What goes back to the page: JSON values, and bytes beside them."""

    content: dict[str, Any]
    buffers: tuple[bytes, ...] = ()


class Clerk:
    """Takes what the pages of one workbook send, has it recorded, and answers.

    Parameters
    ----------
    session : KernelSession
        Where it is recorded.
    """

    def __init__(self, session: KernelSession) -> None:
        self.session = session
        self._echoed: set[tuple[int, str, str]] = set()
        self._doubted: set[tuple[int, str, str]] = set()

    def prepare(self) -> None:
        """Do what else the first number would have to wait for."""
        load_units()

    def view(self, number: int) -> dict[str, Any]:
        """Describe one exercise's page, as `workbook.views.view.exercise_view` does."""
        notices = [
            notice("caution", _("Notice."), text)
            for text in self.session.journals.notices
        ]
        if self.session.trouble:
            notices.insert(0, _nothing_recorded(self.session.trouble))
        return exercise_view(
            self.session.exercise(number), self.session.progress(number), notices
        )

    def own(self, number: int) -> dict[str, Any]:
        """Describe what stands apart from the steps, as `own_view` does."""
        return own_view(
            self.session.progress(number), can_restart=self.session.can_restart
        )

    def answer(self, number: int, message: Mapping[str, Any]) -> Reply:
        """Do what a message asks.

        Parameters
        ----------
        number : int
            Exercise number of the page.
        message : mapping
            From the page; it may hold anything.

        Returns
        -------
        Reply
            Its ``status`` is ``recorded``, ``echo``, ``ask``, ``set-up``,
            ``refused``, ``failed``, ``lines``, ``taken`` or ``hand-in``. Never an
            exception.
        """
        try:
            reply = self._act(number, message)
        except JournalError as error:
            text = _("NOT recorded. {reason} Your earlier answers are kept.")
            reply = _reply("failed", text.format(reason=error))
        except WorkbookError as error:
            text = _("Not recorded. {reason}")
            reply = _reply("refused", text.format(reason=error))
        except Exception as error:
            # The page must never wait in silence, whatever the mistake here is.
            _log.exception("A message could not be answered")
            text = _(
                "Something went wrong ({error}), and this step may not be recorded. "
                "Your earlier answers are kept. Run this cell again to see what is "
                "recorded."
            )
            reply = _reply("failed", text.format(error=type(error).__name__))
        reply.content["id"] = message.get("id")
        return reply

    def _act(self, number: int, message: Mapping[str, Any]) -> Reply:
        """Dispatch one message."""
        action = message.get("action")
        if action == "lines":
            return _reply("lines", "", files=self.session.lines())
        if action == "hand-in":
            return self._hand_in()
        if action in {"room", "aside", "slip"} and self.session.readings is not None:
            return self._examined(number, str(action), message)
        if action == "echo":
            return self._echo(number, message)
        if action == "measure":
            return self._set_up(number, message["set_up"])
        if action in {"prediction", "verification"}:
            return self._record_number(number, message)
        if action == "answer":
            return self._record_answer(number, message)
        fields = OWN_FIELDS.get(str(action))
        if fields is None:
            raise RefusedError(_("The page sent something that is not known here."))
        return self._record(number, message, {name: message[name] for name in fields})

    def _set_up(self, number: int, sent: Mapping[str, Any]) -> Reply:
        """Tell what a set-up takes, or what is missing; nothing is recorded."""
        try:
            told = self._told(number, sent)
        except RefusedError as error:
            return _reply("refused", str(error))
        return _reply("set-up", "", **told)

    def _told(self, number: int, sent: Mapping[str, Any]) -> dict[str, Any]:
        progress = self.session.progress(number)
        if sent["instrument"] in LOOKS:
            item = looked_at(self.session.exercise(number), sent)
            return set_up_told(self.session.exercise(number), progress, item)
        set_up = whole(from_fields(sent))
        exercise, item = self.session.measured(number, set_up)
        return set_up_told(exercise, progress, item, set_up)

    def _examined(self, number: int, action: str, message: Mapping[str, Any]) -> Reply:
        """Do what the room of an examination has sent, or what a slip says."""
        if action == "slip":
            self._take_slip(number, message)
        elif action == "aside":
            self.session.set_aside(message["counts"])
        else:
            # As text: a browser's null reaches Python as something else than None.
            sent = json.loads(message["sent"])
            lines = {n: (one["at"], one["lines"]) for n, one in sent["lines"].items()}
            readings = {
                (one["exercise"], one["item"]): record_from(Reading, one)
                for one in sent["readings"]
            }
            self.session.take(lines, readings)
        return _reply("taken", "")

    def _take_slip(self, number: int, message: Mapping[str, Any]) -> None:
        """Take a reading from paper, where it is due."""
        test, display = str(message["item"]), str(message["display"]).strip()
        is_due = self.session.progress(number).finding_due == test
        if not (is_due and display) or is_code(test):
            raise RefusedError(_("No reading of this test is due."))
        typed = Reading(display=display[:_SLIP_LENGTH], is_typed=True)
        self.session.take({}, {(number, test): typed})

    def _hand_in(self) -> Reply:
        data = self.session.hand_in()
        count = self.session.hand_in_state()["recorded"]
        reply = _reply("hand-in", "", recorded=count)
        return Reply(content=reply.content, buffers=(data,))

    def _echo(self, number: int, message: Mapping[str, Any]) -> Reply:
        """Say how a text is read, and remember that this was said."""
        asked, raw = self._asked(number, message), str(message["raw"])
        try:
            read = read_quantity(raw, asked.unit)
        except QuantityError as error:
            return _reply("echo", str(error), raw=raw, is_readable=False)
        if isinstance(read, Ambiguous):
            which = {"is_readable": False, "readings": read.readings}
            return _reply("echo", _(_WHICH), raw=raw, **which)
        self._echoed.add((number, asked.id, raw))
        return _reply("echo", read.echo, raw=raw, is_readable=True)

    def _record_number(self, number: int, message: Mapping[str, Any]) -> Reply:
        """Record a number in a spelling that was echoed; else echo it and ask.

        Asked back, too, is once what no circuit could carry.
        """
        asked, raw = self._asked(number, message), str(message["raw"])
        key = (number, asked.id, raw)
        is_new = key not in self._echoed
        echo = self._echo(number, message).content
        if not echo["is_readable"]:
            return Reply(content={**echo, "status": "refused"})
        read = read_quantity(raw, asked.unit)
        if not isinstance(read, Quantity):
            raise RefusedError(_(_WHICH))
        if is_new or (read.is_doubtful and key not in self._doubted):
            self._doubted.add(key)
            ask = _(_DOUBTFUL) if read.is_doubtful else _(_AGAIN)
            ask = ask.format(read=echo["text"])
            return Reply(content={**echo, "status": "ask", "ask": ask})
        fields = {"raw": read.raw, "value": read.value, "unit": read.unit}
        return self._record(number, message, fields)

    def _record_answer(self, number: int, message: Mapping[str, Any]) -> Reply:
        """Record the answer to a question, a number as all numbers are."""
        question = self.session.exercise(number).question(str(message.get("item")))
        if question is None:
            raise RefusedError(_("This exercise does not ask that."))
        if question.kind == "number":
            return self._record_number(number, message)
        return self._record(number, message, answer_fields(question, message))

    def _record(
        self, number: int, message: Mapping[str, Any], fields: Mapping[str, Any]
    ) -> Reply:
        """Record one step and send its journal line along."""
        step = {"exercise": number, "kind": message["action"], "item": message["item"]}
        written = self.session.record(_entry({**step, **fields}))
        return _reply("recorded", "", time=written.time, tail=self._tail(written))

    def _tail(self, written: Entry) -> dict[str, Any]:
        """Return the journal lines just written, for the page's own copy."""
        name = self.session.journal.path.name
        lines = self.session.lines()[name]
        # With the first entry goes the header, which the page does not have yet.
        at = 0 if written.seq == 1 else len(lines) - 1
        return {"file": name, "at": at, "lines": lines[at:]}

    def _asked(self, number: int, message: Mapping[str, Any]) -> NumberAsked:
        """Return what a typed number answers."""
        exercise, item = self.session.exercise(number), message.get("item")
        after = exercise.asked_after(self.session.progress(number).correction)
        for asked in (after, *exercise.numbers):
            if asked is not None and asked.id == item:
                return asked
        raise RefusedError(_("This exercise does not ask for that number."))


# What an instrument displays is shorter.
_SLIP_LENGTH = 80
_AGAIN = later("{read}. Press the button again if that is right.")
_DOUBTFUL = later(
    "{read}. No circuit here could ever carry that much: look at the number and its "
    "unit. Press the button again if it is what you mean."
)
_WHICH = later("This can be read in two ways. Which one do you mean?")


def _entry(fields: Mapping[str, Any]) -> Entry:
    """Take what a page sends for a step; it may have sent anything."""
    try:
        return step_from(fields)
    except (TypeError, ValueError) as error:
        text = _("The page asked for something that this exercise does not have.")
        raise RefusedError(text) from error


def _reply(status: str, text: str, **more: object) -> Reply:
    return Reply(content={"status": status, "text": text, **more})


def _nothing_recorded(trouble: str) -> dict[str, Any]:
    move = _(
        "Move the workbook to a folder of your own where files can be saved, open it "
        "there, and reload the page or run this cell again. Answers recorded earlier "
        "are kept."
    )
    return notice("wrong", _("Nothing is being recorded."), f"{trouble} {move}")
