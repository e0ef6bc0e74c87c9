"""What many graded classes tell: a page for the head of training, and difficulty."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.headway import Progress
from answer_keys.reports.evidence import Evidence, evidence_of
from answer_keys.reports.report import result_from
from answer_keys.reports.training import training_report
from answer_keys.reports.training_figures import TrainingView
from answer_keys.reports.training_view import training_view
from answer_keys.written_files import new_private_folder, write_private
from generator.errors import ClassSetError
from generator.sets.class_set import OBSERVED_NAME, read_class_set, write_asked
from generator.sets.graded_set import class_result
from generator.week.opened import OpenedSet
from workbook.texts import speaking

PAGE_NAME = "training-report.html"


@dataclass(frozen=True, slots=True, kw_only=True)
class Trained:
    """What was written.

    Attributes
    ----------
    page : pathlib.Path
        For the head of training.
    difficulty : pathlib.Path or None
        What `generate` draws by; None where there is too little to tell.
    """

    view: TrainingView
    page: Path
    difficulty: Path | None


def sets_below(folders: Sequence[Path]) -> tuple[Path, ...]:
    """Find the class sets that are meant: each by itself, or all of a folder.

    Raises
    ------
    ClassSetError
        Where a folder is no set and holds none.
    """
    found = list[Path]()
    for folder in folders:
        own = [folder] if (folder / "set.toml").is_file() else []
        below = [path.parent for path in sorted(folder.glob("*/set.toml"))]
        # What is wrong with a folder without any is said as of a set.
        found += own or below or [read_class_set(folder).folder]
    return tuple(dict.fromkeys(found))


def train(
    sets: Sequence[OpenedSet], folder: Path, tell: Progress = lambda *_: None
) -> Trained:
    """Write into a folder what all graded classes tell together.

    Classes of which nothing is graded yet are left out. Of a gradebook in a server all
    classes are read by one query.

    Raises
    ------
    ClassSetError
        Where nothing of any class was graded.
    GradebookError
        Where a gradebook cannot be read.
    """
    found = list[Evidence]()
    for number, evidence in enumerate(_evidence(sets), 1):
        found.append(evidence)
        tell("writing", number, len(sets))
    classes = [one for one in found if one.graded]
    if not classes:
        raise ClassSetError(folder, "nothing to report: no class was graded yet")
    new_private_folder(folder)
    with speaking(sets[0].key.language):
        view = training_view(classes)
        write_private(folder / PAGE_NAME, training_report(view).encode())
    difficulty = folder / OBSERVED_NAME if view.observed.after else None
    if difficulty is not None:
        write_asked(difficulty, view.observed)
    return Trained(view=view, page=folder / PAGE_NAME, difficulty=difficulty)


def _evidence(sets: Sequence[OpenedSet]) -> Iterator[Evidence]:
    """Take from each set what it tells, one after the other in memory."""
    of_server = [one for one in sets if one.gradebook is not None]
    for opened in sets:
        # A class that was never graded has no gradebook yet, and is no fault.
        if opened.gradebook is None and opened.class_set.gradebook_file.is_file():
            result = class_result(opened.class_set, opened.key)
            yield evidence_of(result, opened.class_set.folder.name)
    if of_server:
        by_id = {one.class_set.set_id: one for one in of_server}
        with Gradebook(of_server[0].gradebook or "") as book:
            for set_id, counted in book.counted_of_sets(tuple(by_id)):
                opened = by_id[set_id]
                result = result_from(counted, opened.key, opened.class_set.roster)
                yield evidence_of(result, opened.class_set.folder.name)
