"""Grade a class: from the folder of returned files to gradebook, report and sheets."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import asdict, dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from answer_keys.gradebook.choices import choices_from
from answer_keys.gradebook.contenders import Decision
from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.gradebook.inbox import Inbox
from answer_keys.gradebook.mending import Mended, mark_again, standings_again
from answer_keys.gradebook.results import ClassResult, StudentResult
from answer_keys.gradebook.senders import Senders
from answer_keys.gradebook.standings import Override, Standing
from answer_keys.hand_ins.listing import ROOM
from answer_keys.headway import Progress
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.marking.marked import SOFTWARE, Marked, Source
from answer_keys.marking.marker import Marker
from answer_keys.marking.policy import Rubric
from answer_keys.reports.report import (
    Heading,
    Share,
    class_results,
    new_report,
    write_reports,
)
from answer_keys.written_files import new_private_folder

# What is recorded together: each time a database waits for its disk once, and what
# waits lies in memory.
_BATCH, _BATCH_BYTES = 500, 20_000_000

Mark = Callable[[Marker, "Path"], Iterator[Marked]]
"""Marks every file of a folder: in this process, or in others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GradingJob:
    """Where the files of a class are, and how they are graded.

    Attributes
    ----------
    handed_in : pathlib.Path
        Read only.
    results : pathlib.Path
        Made where it is missing.
    gradebook : pathlib.Path or str
        File or address of the gradebook.
    mark : callable
        Marks every file of a folder: in this process, or in others.
    share : Share
        Writes the sheets: in this process, or in others.
    overrides : sequence of Override
        Marks that are set by hand now.
    taken : sequence of (student, code)
        Hand-ins that are chosen by hand now, as `choices_from` reads them.
    heading : Heading
        Of the class report.
    at : datetime.datetime or None
        When the class is graded; None is now.
    """

    handed_in: Path
    results: Path
    gradebook: Path | str
    mark: Mark = Marker.marked_in
    share: Share = map
    overrides: Sequence[Override] = ()
    taken: Sequence[tuple[str, str]] = ()
    heading: Heading = field(default_factory=Heading)
    at: datetime | None = None

    @property
    def now(self) -> datetime:
        """When the class is graded."""
        return self.at or datetime.now(UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Graded:
    """What a grading has done.

    Attributes
    ----------
    added : int
        Gradings that are new.
    marked_again : tuple of Mended
        Hand-ins whose marks something else had changed in the gradebook.
    """

    added: int
    marked_again: tuple[Mended, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GradedClass(Graded):
    """A class after a grading.

    Attributes
    ----------
    result : ClassResult
        What each student has now; its receipts account for every returned file.
    written : tuple of str
        Files among the results.
    """

    result: ClassResult
    written: tuple[str, ...]

    @property
    def missing(self) -> tuple[StudentResult, ...]:
        """Students of whom nothing is graded."""
        return tuple(one for one in self.result.students if one.file is None)

    @property
    def files(self) -> Iterator[dict[str, Any]]:
        """What became of each file, one by one, as JSON can hold it."""
        return map(asdict, self.result.receipts)

    @property
    def summary(self) -> dict[str, Any]:
        """All of it, as JSON can hold it."""
        return {**self.figures, "files": [*self.files]}

    @property
    def figures(self) -> dict[str, Any]:
        """All of it but the files."""
        return {
            "set_id": self.result.set_id,
            "students": [_student_summary(one) for one in self.result.students],
            "gradings_added": self.added,
            "marked_again": [
                {"student": one.student, "name": one.name} for one in self.marked_again
            ],
            "written": list(self.written),
        }


def grade_class(
    key: AnswerKey,
    roster: Sequence[tuple[str, str]],
    rubric: Rubric,
    job: GradingJob,
    progress: Progress = lambda *_: None,
) -> GradedClass:
    """Grade every returned file and write gradebook, report, sheets and table.

    Parameters
    ----------
    roster : sequence of (id, name)
    progress : callable
        Told what is being done, how much is done and of how much.

    Raises
    ------
    GradebookError
        Where the gradebook cannot be opened.
    ChoiceError
        Where what is taken is no hand-in; nothing is graded then.
    """
    at = job.now
    new_private_folder(job.results)
    with Gradebook(job.gradebook) as gradebook:
        chosen = choices_from(job.taken, gradebook.known(key.set_id))
        gradebook.choose(key.set_id, chosen, at)
        gradebook.override(key.set_id, job.overrides, at)

        def mark(marker: Marker, folder: Path) -> Iterator[Marked]:
            return told(job.mark(marker, folder), progress)

        graded = grade_into(
            gradebook, key, dict(roster), rubric, job.handed_in, mark, at
        )
        # Once as a rule; again only where another grader has decided meanwhile. The
        # last holds.
        for result in class_results(gradebook, key, roster):
            report = new_report(result)
            written = write_reports(
                report, key, job.results, progress, job.share, job.heading
            )
    return GradedClass(
        result=result,
        added=graded.added,
        marked_again=graded.marked_again,
        written=tuple(written),
    )


def grade_into(
    gradebook: Gradebook,
    key: AnswerKey,
    roster: Mapping[str, str],
    rubric: Rubric,
    handed_in: Path,
    mark: Mark = Marker.marked_in,
    at: datetime | None = None,
) -> Graded:
    """Grade every returned file into a gradebook.

    Files are recorded in batches as they are marked, and decided on student by
    student, so that memory stays flat; what a grader that is killed had recorded
    stands.

    Parameters
    ----------
    roster : mapping of str to str
        Names by id.
    mark : callable
        Marks every file of a folder.
    at : datetime.datetime or None
        When the class is graded; None is now.
    """
    at = at or datetime.now(UTC)
    inbox = Inbox(
        policy=rubric.policy,
        senders=Senders(roster),
        at=at,
        room=ROOM if key.mode == "examination" else "",
        overrides=gradebook.overrides(key.set_id),
        choices=gradebook.choices(key.set_id),
    )
    marker = Marker(key=key, rubric=rubric, students=frozenset(roster))
    source = Source(rubric_sha256=rubric.sha256, software=SOFTWARE)
    grader = _Grader(gradebook=gradebook, marker=marker, source=source, at=at)
    with closing(inbox):
        inbox.remember(gradebook.known(key.set_id))
        # Before anything is recorded: the newest marks are those that were changed.
        again = mark_again(gradebook, marker, source)
        added = sum(
            grader.take(batch, inbox) for batch in _batches(mark(marker, handed_in))
        )
        # A student's hand-ins hang on the decision: of it no more is kept than this.
        decided = [grader.decide(one, inbox) for one in inbox.decisions()]
        added += sum(new for _standing, new in decided)
        standings = [standing for standing, _new in decided]
        students = frozenset(one.student for one in standings)
        standings += standings_again(gradebook, marker, again, students)
        # A standing names its grading, so that all gradings are there before.
        gradebook.settle(key.set_id, standings, source, at)
        gradebook.account(key.set_id, inbox.receipts())
    return Graded(added=added, marked_again=again)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Grader:
    """Records what is marked, by what it is marked."""

    gradebook: Gradebook
    marker: Marker
    source: Source
    at: datetime

    def take(self, batch: Sequence[Marked], inbox: Inbox) -> int:
        """Record some files and put them into the inbox; tell how many are new."""
        works = [one.work for one in batch if one.work is not None]
        new = self.gradebook.record(works, self.source, self.at) if works else 0
        for one in batch:
            inbox.take(one)
        return new

    def decide(self, decision: Decision, inbox: Inbox) -> tuple[Standing, int]:
        """Give what counts for a student, and how many gradings are new for it."""
        if len(decision.counting) == 1:
            return decision.counting[0].standing, 0
        # What counts together is marked as one hand-in, with a hash of its own.
        parts = [self.gradebook.work(one.sha256) for one in decision.counting]
        work = self.marker.together(parts)
        new = self.gradebook.record([work], self.source, self.at)
        return inbox.together(decision, work), new


def _batches(marked: Iterable[Marked]) -> Iterator[list[Marked]]:
    """Share out what is marked, as it comes."""
    batch, size = list[Marked](), 0
    for one in marked:
        batch.append(one)
        size += len(one.work.marks) + len(one.work.journal) if one.work else 0
        if len(batch) == _BATCH or size >= _BATCH_BYTES:
            yield batch
            batch, size = [], 0
    if batch:
        yield batch


def told(marked: Iterable[Marked], progress: Progress) -> Iterator[Marked]:
    """Tell of each file as it is marked; how many there are is not known before."""
    for number, one in enumerate(marked, 1):
        progress("grading", number, 0)
        yield one


def _student_summary(student: StudentResult) -> dict[str, Any]:
    is_graded = student.file is not None
    return {
        "id": student.id,
        "name": student.name,
        "status": "graded" if is_graded else "no hand-in",
        "total": round(student.total, 2) if is_graded else None,
        "out_of": round(student.out_of, 2) if is_graded else None,
    }
