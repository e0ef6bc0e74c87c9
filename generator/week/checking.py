"""Is a class set sound."""

from __future__ import annotations

from datetime import UTC, datetime

import msgspec

from answer_keys.headway import Progress
from answer_keys.written_files import write_private
from generator.checking.paper_check import PaperCheck
from generator.checking.validation import SetCheck, Validation, validate_set
from generator.sets.class_set import ClassSet
from generator.sets.set_writing import redrawn, student_processes
from generator.week.checked import Check
from generator.week.opened import OpenedSet


def check(
    opened: OpenedSet,
    tell: Progress = lambda *_: None,
    *,
    workers: int | None = None,
    is_all_run: bool = False,
) -> Validation:
    """Check every workbook of a set, and prove every exercise again from its key.

    Parameters
    ----------
    workers : int or None
        Processes that check; None is as many as are worth their start here.
    is_all_run : bool
        Whether every workbook is run in a kernel; else three of them.
    """
    class_set, secret, key = opened.class_set, opened.secret, opened.key
    checks = SetCheck(
        class_set=class_set,
        secret=secret,
        key=key,
        again=redrawn(class_set, secret),
        paper=PaperCheck.of(class_set, secret.value, key),
    )
    processes = student_processes(class_set.request, workers)
    return validate_set(checks, tell, processes=processes, is_all_run=is_all_run)


def keep_check(class_set: ClassSet, found: Validation) -> Check:
    """Note beside a set what a check of it has found."""
    groups = {name: group.values() for name, group in found.groups.items() if group}
    kept = Check(
        at=datetime.now(UTC),
        counts={
            name: (sum(not problems for problems in group), len(group))
            for name, group in groups.items()
        },
        faults=tuple(found.lines()),
    )
    write_private(class_set.checked_file, msgspec.json.encode(kept))
    return kept
