"""What the last check of a class set has said, as it is kept beside the set."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

import msgspec

from generator.sets.class_set import ClassSet


class Check(msgspec.Struct, frozen=True, kw_only=True):
    """What a check has found, as it is kept beside the set.

    Attributes
    ----------
    at : datetime.datetime
        When the set was checked, in UTC.
    counts : mapping of str to (int, int)
        By what was checked, how many are sound and how many there are.
    faults : tuple of str
        One line for each that is not.
    """

    at: datetime
    counts: Mapping[str, tuple[int, int]]
    faults: tuple[str, ...] = ()

    @property
    def is_sound(self) -> bool:
        """Whether nothing is wrong."""
        return not self.faults


def last_check(class_set: ClassSet) -> Check | None:
    """Give what the last check has found; None where there was none."""
    try:
        return msgspec.json.decode(class_set.checked_file.read_bytes(), type=Check)
    except (OSError, msgspec.MsgspecError, UnicodeDecodeError):
        # Nobody has to keep it whole: the set is checked again.
        return None
