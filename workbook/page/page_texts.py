"""What the page says by itself, for its script to show in the student's language."""

from __future__ import annotations

from workbook.texts import _


def page_texts() -> dict[str, str]:
    """Return every text of form.js and form_parts.js, by the name it has there."""
    return {**_on_the_page(), **_on_recording(), **_on_hand_in()}


def _on_the_page() -> dict[str, str]:
    return {
        "before": _("Before it: "),
        "caution": _("Caution."),
        "check": _("Check before you record:"),
        "choose": _("Choose …"),
        "done": _("done"),
        "later": _("later"),
        "most": _("At most {count} characters."),
        "reading": _("Reading: "),
        "unit": _("Write the unit {unit}"),
        "wrote": _("You wrote “{text}”."),
    }


def _on_recording() -> dict[str, str]:
    return {
        "missing": _("Not recorded. Answer first: {field}"),
        "not_recorded": _("Not recorded."),
        "recorded": _("Recorded {time}"),
        "recorded_at": _("Recorded {time}."),
        "recording": _("Recording …"),
        "not_kept": _(
            "Recorded {time}, but NOT KEPT when you close this page: {reason}. "
            "Download your hand-in before you close it."
        ),
        "lost_restart": _(
            "NOT recorded: the notebook does not answer. Your earlier answers are "
            "kept. Choose “Restart Kernel and Run All Cells” in the Kernel menu, then "
            "enter this one again. If it comes again, the disk or the storage of the "
            "browser may be full."
        ),
        "lost_reload": _(
            "NOT recorded: the notebook does not answer. Your earlier answers are "
            "kept. Download your hand-in, then reload this page, then enter this one "
            "again. If it comes again, the disk or the storage of the browser may be "
            "full."
        ),
    }


def _on_hand_in() -> dict[str, str]:
    return {
        "hand_in": _("Download my hand-in"),
        "making": _("Making your hand-in …"),
        "downloaded": _(
            "Hand-in downloaded: {file}, with {count} recorded steps. Give this file "
            "to your instructor."
        ),
        "from_copy": _(
            "The notebook does not answer. {file} was made from this page's own copy, "
            "with {count} recorded steps."
        ),
        "nothing": _("Nothing recorded yet."),
        "all_handed_in": _("Steps recorded: {count}, all in your last hand-in file."),
        "not_handed_in": _(
            "Steps recorded: {count}; not in a hand-in file yet: {open}."
        ),
    }
