"""All classes of a plan, drawn and graded as far as they are not done yet.

What is done lies on the disk: a set is whole or not there, and a grading is noted with
what it was made from. So a run that was stopped, however it was, goes on with the next.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from queue import SimpleQueue
from tempfile import TemporaryDirectory

from msgspec import DecodeError, msgpack

from answer_keys.errors import ContentError
from answer_keys.headway import Progress
from answer_keys.keys.class_secret import ClassSecret
from answer_keys.marking.rubric import rubric_text
from generator.classes.done import (
    Access,
    Note,
    came_of,
    class_secret,
    keep_note,
    note_of,
    report_ns,
    school_secret,
)
from generator.classes.figures import Figures
from generator.classes.jobs import Answer, Engine, Job
from generator.classes.plan import Plan, PlannedClass
from generator.classes.rows import Row
from generator.classes.shipping import batches_of, keep_marks
from generator.drawing.course import Course, read_course
from generator.drawing.request import Request, Student
from generator.errors import ClassSetError, WritingError, told
from generator.sets.class_set import ClassSet, read_class_set
from generator.sets.set_writing import Part, write_drawn_set
from generator.week.collecting import marker_of
from generator.week.examination import hand_in_examination
from generator.week.opened import opened_set
from generator.workbooks.class_workbooks import set_id_of

_PARTS = msgpack.Decoder(list[Part])
_FIGURES = msgpack.Decoder(Figures)
_CONTENT = (ContentError, DecodeError, OSError)


@dataclass(frozen=True, slots=True, kw_only=True)
class Engines:
    """Who does the jobs.

    Attributes
    ----------
    near : Engine
        This machine's own: gradebooks and reports are written by it.
    far : Engine
        Draws and marks; the same one where there is no cluster.
    answers : queue.SimpleQueue of Answer
        What both of them say.
    """

    near: Engine
    far: Engine
    answers: SimpleQueue[Answer]


def run_plan(
    plan: Plan,
    engines: Engines,
    access: Access,
    tell: Progress = lambda *_: None,
) -> tuple[Row, ...]:
    """Write and grade what is missing; give a row for each class, in their order.

    A class that fails stops no other.

    Raises
    ------
    SecretError
        Where the school secret cannot be opened.
    ClusterError
        Where a cluster does not come back.
    """
    secret = school_secret(plan.folder, access.passphrase)
    # Marks of a large class would fill the memory before all of them are there.
    with TemporaryDirectory(prefix="clampbook-marks-") as kept:
        run = _Run(
            plan=plan,
            engines=engines,
            access=access,
            secret=secret,
            tell=tell,
            kept=Path(kept),
        )
        run.work()
    return tuple(run.rows[planned.name] for planned in plan.classes)


@dataclass(slots=True, kw_only=True)
class _Run:
    """A run under way.

    ``there`` are classes whose set is the one that is planned, ``came`` is what each is
    graded from, ``marks`` the files below ``kept`` of what was marked of it far away,
    ``open`` how many answers to that are still to come. ``suspects`` were under way
    when a process died of one of them, so that each is tried once more alone.
    """

    plan: Plan
    engines: Engines
    access: Access
    secret: ClassSecret
    tell: Progress
    kept: Path
    rows: dict[str, Row] = field(default_factory=dict)
    there: set[str] = field(default_factory=set)
    came: dict[str, str] = field(default_factory=dict)
    marks: dict[str, list[Path]] = field(default_factory=dict)
    open: Counter[str] = field(default_factory=Counter)
    suspects: list[Job] = field(default_factory=list)
    alone: Job | None = None
    under_way: int = 0
    planned: dict[str, PlannedClass] = field(init=False)
    courses: dict[tuple[str, ...], Course] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.planned = {one.name: one for one in self.plan.classes}

    def work(self) -> None:
        self.tell("classes", 0, len(self.plan.classes))
        # One by one as there is room: each job holds its data, and of a school's
        # classes that is more than a memory should have to hold.
        todo = (job for one in self.plan.classes for job in self._jobs_of(one))
        while True:
            while self.engines.far.room > 0 and (job := next(todo, None)) is not None:
                self._start(job)
            # Suspects wait until nothing else is under way, so that whoever dies is
            # known.
            if self.under_way == 0:
                if not self.suspects:
                    return
                self.alone = self.suspects.pop()
                self._start(self.alone)
            self._hear(self.engines.answers.get())

    def _start(self, job: Job) -> None:
        self._engine(job).start(job)
        self.under_way += 1

    def _engine(self, job: Job) -> Engine:
        return self.engines.near if job.work == "grading" else self.engines.far

    def _settle(self, row: Row) -> None:
        self.rows[row.planned.name] = row
        self.tell("classes", len(self.rows), len(self.plan.classes))

    def _fail(self, planned: PlannedClass, fault: str) -> None:
        row = Row(planned=planned, drawn="failed", fault=fault)
        if planned.name in self.there:
            row = replace(row, drawn="there", graded="failed")
        self._settle(row)

    def _jobs_of(self, planned: PlannedClass) -> Iterator[Job]:
        """Tell what is to be done for a class; what is done already is settled."""
        if planned.left_out:
            row = Row(planned=planned, drawn="left out", fault=planned.left_out)
            self._settle(row)
            return
        try:
            if (self.plan.folder / planned.name).exists():
                yield from self._grading(planned, self._set_there(planned))
            else:
                course = self._course(planned.request.lessons)
                asked = _nameless(planned.request)
                given = (course, asked, class_secret(self.secret, planned))
                yield Job(name=planned.name, work="drawing", given=given)
        except _CONTENT as error:
            self._fail(planned, told(error))

    def _course(self, lessons: tuple[str, ...]) -> Course:
        if lessons not in self.courses:
            self.courses[lessons] = read_course(lessons)
        return self.courses[lessons]

    def _set_there(self, planned: PlannedClass) -> ClassSet:
        """Read a set that is there already; it has to be the one that is planned."""
        found = read_class_set(self.plan.folder / planned.name)
        if found.set_id != set_id_of(class_secret(self.secret, planned)):
            raise ClassSetError(
                found.folder,
                "is another set than the plan asks for now, and is never overwritten. "
                "Give the class another name in the plan, or take back what was "
                "changed there.",
            )
        self.there.add(planned.name)
        return found

    def _grading(self, planned: PlannedClass, its: ClassSet) -> Iterator[Job]:
        came = came_of(its, self.access.gradebook)
        note = note_of(self.plan.folder, planned.name)
        row = Row(planned=planned, drawn="there", graded="no hand-ins")
        if not came:
            self._settle(row)
        elif note and (note.came, note.report_ns) == (came, report_ns(its)):
            self._settle(replace(row, graded="as before", figures=note.figures))
        else:
            self.came[planned.name] = came
            if self.engines.near is self.engines.far:
                yield self._grading_job(planned)
            else:
                yield from self._marking(planned, its)

    def _grading_job(self, planned: PlannedClass) -> Job:
        marked = self.marks.pop(planned.name, None)
        given = (
            self.plan.folder / planned.name,
            self.access.passphrase,
            self.access.gradebook,
            None if marked is None else tuple(marked),
        )
        return Job(name=planned.name, work="grading", given=given)

    def _marking(self, planned: PlannedClass, its: ClassSet) -> Iterator[Job]:
        """Send out what came back, a share at a time."""
        opened = opened_set(its.folder, self.access.passphrase)
        hand_in_examination(opened)
        batches = batches_of(marker_of(opened), its.handed_in)
        self._keep_marks(planned, batches.unread)
        self.open[planned.name] = len(batches.shares)
        if not batches.shares:
            self._start(self._grading_job(planned))
        for share in batches.shares:
            shipment = batches.shipment(share)
            yield Job(name=planned.name, work="marking", given=(shipment,))

    def _keep_marks(self, planned: PlannedClass, marked: bytes) -> None:
        own = self.marks.setdefault(planned.name, [])
        path = self.kept / f"{planned.name}-{len(own)}"
        keep_marks(path, marked)
        own.append(path)

    def _hear(self, answer: Answer) -> None:
        self.under_way -= 1
        planned = self.planned[answer.job.name]
        if answer.is_lost:
            self._lost(answer.job, planned)
        elif planned.name in self.rows:
            return  # another share of it has failed
        elif answer.fault:
            self._fail(planned, answer.fault)
        else:
            try:
                self._take(planned, answer)
            except _CONTENT as error:
                self._fail(planned, told(error))

    def _lost(self, job: Job, planned: PlannedClass) -> None:
        if self._engine(job).mend():
            self._start(job)
        elif job is not self.alone:
            self.suspects.append(job)
        else:
            why = "the process that was at it was ended twice, as when memory runs out"
            self._fail(planned, f"{why}; close other programs, and run this again")

    def _take(self, planned: PlannedClass, answer: Answer) -> None:
        match answer.job.work:
            case "drawing":
                self._write(planned, _PARTS.decode(answer.data))
            case "marking":
                self._keep_marks(planned, answer.data)
                self.open[planned.name] -= 1
                if not self.open[planned.name]:
                    self._start(self._grading_job(planned))
            case "grading":
                for path in answer.job.given[-1] or ():
                    path.unlink()
                self._note(planned, _FIGURES.decode(answer.data))

    def _write(self, planned: PlannedClass, parts: list[Part]) -> None:
        request = planned.request
        # It may come from another machine: looked at before anything is written by it.
        if [part.student for part in parts] != [one.id for one in request.students]:
            raise WritingError("what was drawn is not for the students of this class")
        weights = self._course(request.lessons).lessons[0].lesson.rubric
        own = planned.rubric
        write_drawn_set(
            self.plan.folder / planned.name,
            request,
            parts,
            own.read_text("utf-8-sig") if own else rubric_text(weights),
            (class_secret(self.secret, planned), self.access.passphrase),
        )
        self._settle(Row(planned=planned, drawn="written", graded="no hand-ins"))

    def _note(self, planned: PlannedClass, figures: Figures) -> None:
        its = read_class_set(self.plan.folder / planned.name)
        note = Note(
            came=self.came[planned.name], report_ns=report_ns(its), figures=figures
        )
        keep_note(self.plan.folder, planned.name, note)
        self._settle(
            Row(planned=planned, drawn="there", graded="graded", figures=figures)
        )


def _nameless(request: Request) -> Request:
    """What drawing needs to know: it may be done far away."""
    students = tuple(Student(id=one.id, name="") for one in request.students)
    return replace(request, students=students, school_class=None)
