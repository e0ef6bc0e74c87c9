"""Is a class set sound."""

from __future__ import annotations

from datetime import UTC, datetime

import msgspec

from answer_keys.headway import Progress
from answer_keys.written_files import write_private
from generator.checking.paper_check import PaperCheck
from generator.checking.validation import Validation, validate_set
from generator.sets.class_set import ClassSet
from generator.sets.set_writing import rebuilt_workbooks
from generator.week.checked import Check
from generator.week.opened import OpenedSet


def check(opened: OpenedSet, tell: Progress = lambda *_: None) -> Validation:
    """Check every workbook of a set, and prove every exercise again from its key."""
    class_set, secret, key = opened.class_set, opened.secret, opened.key
    paper = PaperCheck(class_set, secret.value, key)
    again = rebuilt_workbooks(class_set, secret)
    return validate_set(class_set, (secret, key), again, paper, tell)


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
