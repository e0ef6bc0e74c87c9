"""Which hand-ins the instructor takes, as typed: a student, and a code or ``none``."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from answer_keys.errors import ChoiceError
from answer_keys.marking.marked import Known
from answer_keys.visible_text import visible
from workbook.texts import _

NONE = "none"
"""Typed in place of a code, it takes an earlier choice back."""


def choices_from(
    asked: Iterable[tuple[str, str]], known: Iterable[Known]
) -> dict[str, tuple[str, ...]]:
    """Find the hand-ins that are meant.

    Parameters
    ----------
    asked : iterable of (student, code)
        A code is the beginning of a hand-in's SHA-256.
    known : iterable of Known
        Every hand-in that was graded; looked at where something is asked.

    Returns
    -------
    dict of str to tuple of str
        By student the SHA-256 of those taken; none where a choice is taken back.

    Raises
    ------
    ChoiceError
        Where a code stands for no hand-in of the student, or for several.
    """
    found = {student: set[str]() for student, _ in asked}
    files: dict[str, dict[str, str]] = {student: {} for student in found}
    for one in known if found else ():
        if one.student in files:
            files[one.student][one.sha256] = one.file
    for student, code in asked:
        if code != NONE:
            found[student].add(_meant(student, code, files[student]))
    return {student: tuple(sorted(some)) for student, some in found.items()}


def _meant(student: str, code: str, own: Mapping[str, str]) -> str:
    # An empty code begins every hash, and means none.
    meant = [sha256 for sha256 in own if code and sha256.startswith(code.lower())]
    if len(meant) == 1:
        return meant[0]
    if not own:
        raise ChoiceError(
            _("Nothing of student “{student}” was graded yet.").format(
                student=visible(student, 60)
            )
        )
    which = _("several hand-ins") if meant else _("no hand-in")
    codes = ", ".join(f"{sha256[:12]} ({file})" for sha256, file in own.items())
    raise ChoiceError(
        _(
            "“{code}” is the code of {which} of {student}; take one of {codes}, "
            "or {none} to go by the rule again."
        ).format(
            code=visible(code, 80), which=which, student=student, codes=codes, none=NONE
        )
    )
