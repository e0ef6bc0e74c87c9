"""What the page says by itself, for its script to show in the student's language."""

from __future__ import annotations

from workbook.texts import _


def page_texts() -> dict[str, str]:
    """Return every text of the scripts of this folder, by the name it has there."""
    return {
        **_on_the_page(),
        **_beside_it(),
        **_on_the_way(),
        **_on_own_matters(),
        **_on_recording(),
        **_in_the_room(),
        **_on_hand_in(),
    }


def _on_the_page() -> dict[str, str]:
    return {
        "before": _("Before it: "),
        "caution": _("Caution."),
        "cautions": _("Cautions ({count})"),
        "check": _("Check before you record:"),
        "choose": _("Choose …"),
        "close": _("Close"),
        "complaint": _("Complaint."),
        "done": _("done"),
        "enlarge": _("Enlarge"),
        "later": _("later"),
        "most": _("At most {count} characters."),
        "once": _("A place takes its minutes once: then it stays open."),
        "range": _("range {range}"),
        "reading": _("Reading: "),
        "unit": _("Write the unit {unit}"),
        "wrote": _("You wrote “{text}”."),
    }


def _beside_it() -> dict[str, str]:
    return {
        "diagram": _("Diagram"),
        "facts": _("Specification, places and readings"),
        "go_on_measuring": _("Go on: what do you expect?"),
        "listed_here": _("Tests of the list here ({count})"),
        "look_up": _("Look up"),
        "larger": _("Larger"),
        "smaller": _("Smaller"),
        "tests_at": _("{at}: tests that can be chosen here: {count}"),
        "moves_at": _(
            "{at}: what can be set up here: {moves}; tests that can be chosen here: "
            "{count}"
        ),
        "sign_clamp": _("clamp: {at}"),
        "sign_eye": _("look: {at}"),
        "sign_felt": _("feel and listen: {at}"),
        "sign_hand": _("move by hand: {at}"),
        "sign_jumper": _("fused jumper from 30 to 87"),
        "sign_lead": _("fused lead in place of {at}"),
        "sign_minus": _("minus probe: {at}"),
        "sign_moved": _("harness moved"),
        "sign_new": _("new relay"),
        "sign_normal": _("1: switched on in the normal way"),
        "sign_off": _("0: no demand"),
        "sign_out": _("taken out or unplugged: {at}"),
        "sign_output_test": _("T: output test by the scan tool"),
        "sign_past": _("fused jumper from B1 to Q1"),
        "sign_plus": _("plus probe: {at}"),
        "sign_scope": _("probe of the scope: {at}"),
        "sign_thermometer": _("thermometer: {at}"),
        "sign_warmed": _("warmed by itself: {at}"),
    }


def _on_the_way() -> dict[str, str]:
    return {
        "begin": _("Begin with exercise {number}"),
        "begin_list": _("Exercises ({count})"),
        "beginning": _("Beginning and lessons"),
        "exercises": _("Exercises"),
        "go_on": _("Go on with exercise {number}"),
        "next": _("Next exercise"),
        "of_all": _("Exercise {number} of {count}"),
        "previous": _("Previous exercise"),
    }


def _on_own_matters() -> dict[str, str]:
    return {
        "note": _("Notes for yourself"),
        "note_help": _("They are kept and handed in with your work, and never marked."),
        "note_keep": _("Keep the notes"),
        "note_kept": _("Your notes are kept."),
        "own": _("Notes, printing, once more from the start"),
        "own_graded": _("Notes and printing"),
        "print_all": _("Print all exercises"),
        "print_one": _("Print this exercise"),
        "restart": _("Once more from the start"),
        "restart_ask": _(
            "Begin this exercise once more? What you did stays in your journal, and "
            "the last way counts."
        ),
        "restart_no": _("No, go on here"),
        "restart_yes": _("Yes, begin once more"),
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


def _in_the_room() -> dict[str, str]:
    return {
        "room_asking": _("Asking your instructor's machine …"),
        "room_gone": _(
            "Your instructor's machine does not answer: the network may be gone. All "
            "but the next reading goes on, and it is asked again and again. Steps that "
            "it does not have yet: {count}. Tell your instructor if this stays."
        ),
        "room_no_code": _(
            "No readings come here: open your workbook by the link that your "
            "instructor gave you."
        ),
        "room_refused": _(
            "Your instructor's machine does not take these steps. Tell your instructor."
        ),
        "room_waiting": _("The examination has not started."),
        "room_running": _("The examination is running."),
        "room_paused": _("The examination is paused: no new reading comes."),
        "room_over": _("The examination is over."),
        "room_sealed": _("The examination is over, and its record is closed."),
        "room_left": _("Minutes left: {minutes}. Time is not marked."),
        "room_unsent": _(
            "Steps that your instructor's machine does not have: {count}."
        ),
        "room_has_all": _("Your instructor's machine has all your steps."),
        "room_windows": _(
            "Your workbook is open in {count} windows or machines: close all but one."
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
