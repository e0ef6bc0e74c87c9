"""What the supervisor's page says, in the language spoken."""

from __future__ import annotations

from workbook.texts import _


def room_texts() -> dict[str, str]:
    """Return every text of pages/room.js and pages/index.html, by its name there."""
    return {**_of_deeds(), **_of_phases(), **_of_seats()}


def _of_deeds() -> dict[str, str]:
    return {
        "start": _("Start"),
        "pause": _("Pause"),
        "resume": _("Go on"),
        "stop": _("End it"),
        "seal": _("Seal the record"),
        "sure_stop": _("End the examination for all who have no more time?"),
        "sure_seal": _(
            "Seal the record? Nothing is taken after that, and it cannot be undone."
        ),
        "minutes": _("Minutes (empty: no end)"),
        "more": _("More time"),
        "more_for": _("More time for {name}"),
        "how_many": _("More minutes for {name}. Time is never marked."),
        "not_done": _("Not done: {reason}"),
        "protocol": _("Protocol to print"),
        "deeds": _("What you can do"),
    }


def _of_phases() -> dict[str, str]:
    return {
        "title": _("Examination {set_id}"),
        "waiting": _("Not started"),
        "running": _("Running"),
        "paused": _("Paused: no new readings are given"),
        "over": _("Over"),
        "sealed": _("Over, and sealed"),
        "ends": _("ends {time}"),
        "no_answer": _("No answer from the room: {reason}"),
    }


def _of_seats() -> dict[str, str]:
    return {
        "students": _("Students"),
        "student": _("Student"),
        "there": _("There"),
        "exercise": _("Exercise"),
        "open": _("What is open"),
        "done": _("Done"),
        "look": _("Look"),
        "time": _("Time"),
        "yes": _("yes"),
        "no": _("no"),
        "not_yet": _("not yet"),
        "since": _("{exercise} since {time}"),
        "of": _("{done} of {all}"),
        "windows": _("{count} windows or machines with this code"),
        "refused": _("lines refused: {count}"),
        "silent": _("not heard of since {time}"),
        "extra": _("+{minutes} min"),
    }
