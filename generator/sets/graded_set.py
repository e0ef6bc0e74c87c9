"""What a class set has been given in its gradebook."""

from __future__ import annotations

from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.gradebook.gradebook_engine import place_of
from answer_keys.gradebook.gradebook_faults import file_of
from answer_keys.gradebook.results import ClassResult
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.own_command import typed
from answer_keys.reports.report import class_in
from generator.errors import ClassSetError
from generator.sets.class_set import ClassSet
from workbook.texts import _


def class_result(
    class_set: ClassSet, key: AnswerKey, gradebook: str | None = None
) -> ClassResult:
    """Read from the gradebook what a class has been given.

    Parameters
    ----------
    gradebook : str or None
        Address of a database; None is the file among the set's results.

    Raises
    ------
    ClassSetError
        Where nothing was graded yet.
    """
    with open_gradebook(class_set, gradebook) as book:
        return class_in(book, key, class_set.roster)


def open_gradebook(class_set: ClassSet, gradebook: str | None) -> Gradebook:
    """Open the gradebook of a set that was graded; raises as `class_result` does."""
    place = gradebook or class_set.gradebook_file
    file = file_of(place_of(place))
    if file is not None and not file.exists():
        where = "" if gradebook is None else _(" at {file}").format(file=file)
        raise ClassSetError(
            class_set.folder,
            _("has no gradebook yet{where}; first type: {command}").format(
                where=where, command=typed(f"grade {class_set.folder}")
            ),
        )
    return Gradebook(place)
