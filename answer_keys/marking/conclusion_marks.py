"""Marks for the conclusion: the cause, and the correction that follows from it."""

from __future__ import annotations

from answer_keys.keys.key_record import CauseOption
from answer_keys.marking.marks import StepMark
from answer_keys.marking.visits import Visit, Work
from workbook.texts import _

# Misconception of a part replaced although readings had cleared it, by repair.
_THOUGH_CLEARED = {
    "replace_relay": "relay_though_cleared",
    "replace_module": "module_though_cleared",
    "replace_switch": "module_though_cleared",
    "replace_load": "load_though_cleared",
}
# Readings whose "none" says that no current flows.
_CURRENTS = ("control current", "load current", "sensed current", "presence")
# The look that a blown fuse is found by, by repair.
_LOOKS = {
    "replace_control_fuse": "look_control_fuse",
    "replace_load_fuse": "look_load_fuse",
}


def cause(work: Work) -> StepMark:
    """Judge the cause: the fault itself, or one that no reading done tells from it."""
    share, reason, misconception = _cause_judged(work)
    named = work.progress.cause or ""
    return StepMark(
        item="cause",
        title=_("Cause"),
        mark=share,
        out_of=1.0,
        reason=reason,
        misconception=misconception,
        answer=named and work.record.cause(named).label,
    )


def _cause_judged(work: Work) -> tuple[float, str, str]:
    record, planted = work.record, work.record.fault
    real = record.label_of_fault(planted.id)
    if work.progress.cause is None:
        return 0.0, _("You named no cause; it was “{cause}”.").format(cause=real), ""
    said = record.cause(work.progress.cause)
    if said.fault == planted.id:
        return 1.0, _("“{cause}” was the cause.").format(cause=real), ""
    # A cause that no reading done tells from the real one, with its repair, is as good.
    ruled_out_by = _ruled_out_by(work, said.fault)
    if ruled_out_by is None and record.repair_of(said.fault) == planted.repair:
        told = _(
            "The cause was “{cause}”. Your readings do not tell “{said}” from it and "
            "the repair is the same, so it counts in full."
        )
        return 1.0, told.format(cause=real, said=said.label), ""
    words = {"cause": real, "said": said.label}
    if ruled_out_by is None:
        reason = _(
            "The cause was “{cause}”. “{said}” was still possible, but your readings "
            "had not proved it."
        ).format(**words)
    else:
        reason = _(
            "The cause was “{cause}”. “{said}” was ruled out by “{test}”, which read "
            "“{display}”."
        ).format(
            **words, test=ruled_out_by.test.title, display=ruled_out_by.test.display
        )
    return 0.0, reason, _why_wrong(work, said, is_ruled_out=ruled_out_by is not None)


def _ruled_out_by(work: Work, fault_id: str) -> Visit | None:
    """Find the first reading that a fault does not fit."""
    ids = [fault.id for fault in work.record.reasoning.faults]
    number = ids.index(fault_id)
    return next(
        (visit for visit in work.path if number not in visit.after.candidates), None
    )


def _why_wrong(work: Work, said: CauseOption, *, is_ruled_out: bool) -> str:
    """Name the misconception that a wrong cause shows."""
    repair = work.record.repair_of(said.fault)
    # From the particular to the general: the first that fits names the mistake.
    if _is_blown(work, repair):
        return "fuse_without_reason"
    faults = work.record.reasoning.faults
    if repair in _THOUGH_CLEARED and repair not in {
        faults[c].repair for c in work.left
    }:
        return _THOUGH_CLEARED[repair]
    if is_ruled_out:
        return "ruled_out_cause"
    no_current = any(
        visit.test.sorting in _CURRENTS
        # Where the fuse shows with the current, the word goes on: "none, fuse open".
        and visit.test.outcome.partition(",")[0] == "none"
        for visit in work.path
    )
    if repair == "replace_relay" and no_current:
        return "none_blames_relay"
    return "named_before_proof"


def _is_blown(work: Work, repair: str) -> bool:
    """Whether a repair is that of a fuse which is open, though not of itself."""
    tests = work.record.tests
    looked = (test for test in tests if test.id == _LOOKS.get(repair))
    return any(test.outcome != test.sound_outcome for test in looked)


def correction(work: Work, *, is_cause_right: bool) -> StepMark:
    """Judge the correction: it counts only with the cause that it follows from."""
    record, right = work.record, work.record.fault.repair
    label = record.label_of_repair(right)
    share, misconception, named = 0.0, "", work.progress.correction or ""
    if not named:
        reason = _("You named no correction; it is “{repair}”.").format(repair=label)
    elif record.correction(named).repair != right:
        said = record.correction(named).label
        told = _("“{said}” does not cure it; “{repair}” does.")
        reason = told.format(said=said, repair=label)
        misconception = _why_not_cured(work)
    elif is_cause_right:
        share, reason = 1.0, _("“{repair}” cures it.").format(repair=label)
    else:
        reason = _(
            "“{repair}” cures it, but a correction counts only with the cause that it "
            "follows from."
        ).format(repair=label)
    return StepMark(
        item="correction",
        title=_("Correction"),
        mark=share,
        out_of=1.0,
        reason=reason,
        misconception=misconception,
        answer=named and record.correction(named).label,
    )


def _why_not_cured(work: Work) -> str:
    """Name what a wrong correction shows, where the cause does not show it already."""
    record, progress = work.record, work.progress
    if progress.cause is None or progress.correction is None:
        return ""
    needed = record.repair_of(record.cause(progress.cause).fault)
    chosen = record.correction(progress.correction).repair
    return "" if chosen == needed else "repair_beside_cause"
