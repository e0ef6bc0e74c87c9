"""A class set with its secret and its key, opened once for all that is done with it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.class_secret import ClassSecret
from generator.errors import ClassSetError
from generator.sets.class_set import ClassSet, open_key, read_class_set
from workbook.texts import _


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenedSet:
    """A class set that its instructor has opened.

    Attributes
    ----------
    gradebook : str or None
        Address of a database; None is the file among the set's results.
    """

    class_set: ClassSet
    secret: ClassSecret
    key: AnswerKey
    gradebook: str | None = None


def check_student(class_set: ClassSet, student: str) -> None:
    """Raise a `ClassSetError` that names the students where one is not of the set."""
    known = [one.id for one in class_set.request.students]
    if student not in known:
        shown = ", ".join(known[:12]) + (" ..." if len(known) > 12 else "")
        raise ClassSetError(
            class_set.folder,
            _("has no student {student}. Name one of {shown}.").format(
                student=repr(student), shown=shown
            ),
        )


def opened_set(
    folder: Path, passphrase: str | None = None, gradebook: str | None = None
) -> OpenedSet:
    """Open a class set.

    Raises
    ------
    ClassSetError, FileError
        Where the folder is no class set, or its files have faults.
    SecretError, SealError
        Where secret or key cannot be opened; a `PassphraseNeededError` where it takes
        a passphrase.
    """
    class_set = read_class_set(folder)
    secret, key = open_key(class_set, passphrase)
    return OpenedSet(class_set=class_set, secret=secret, key=key, gradebook=gradebook)
