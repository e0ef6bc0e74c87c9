"""One kernel session's work on a workbook: what is recorded, and what may be next."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from workbook.errors import JournalError, RefusedError
from workbook.judging.hints import hints
from workbook.judging.known_words import misfit, unknown_words
from workbook.measuring.set_up import item_of
from workbook.page.finder import Notebook
from workbook.record.bench import is_code
from workbook.record.entries import (
    MAX_NOTE_LENGTH,
    ChosenTest,
    Entry,
    Finding,
    Hint,
    Note,
    Restart,
)
from workbook.record.journal import (
    Journal,
    Owner,
    add_lines,
    check_writable,
    hand_in_bytes,
    hand_in_header,
    hand_in_name,
    journal_path,
    set_aside,
)
from workbook.record.journal_reading import FileRead, Journals, read_journals
from workbook.record.payload import Exercise
from workbook.record.progress import ExerciseProgress, after, replay
from workbook.record.readings import Reading, ReadingsKept
from workbook.record.set_up import SetUp
from workbook.texts import _
from workbook.views.way_view import way_view

SESSION = re.compile(r"[0-9a-f]{8}")


class KernelSession:
    """The journals of one workbook, and this session's own among them.

    Parameters
    ----------
    notebook : Notebook
        The workbook.
    folder : Path
        Where journals are kept: the kernel's working directory.
    """

    def __init__(self, notebook: Notebook, folder: Path) -> None:
        self.notebook = notebook
        self.folder = folder
        self.owner = Owner(
            set_id=notebook.set_id, student=notebook.student, edition=notebook.edition
        )
        self.journal = Journal(folder, self.owner)
        self.journals = Journals()
        self._read: dict[str, FileRead] = {}
        self.trouble = ""
        self.readings: ReadingsKept | None = None
        if notebook.mode == "examination":
            name = f"readings-{self.owner.name}.json"
            self.readings = ReadingsKept(folder / name)
        self._progress: dict[int, ExerciseProgress] = {}
        self._handed_in = self._lines_on_disk()
        self.look_again()

    def look_again(self) -> None:
        """Read what is on disk, and whether the folder can be written."""
        try:
            check_writable(self.folder)
            self.trouble = ""
        except JournalError as error:
            self.trouble = str(error)
        self._replay()

    def _replay(self) -> None:
        """Fold all journals: another window may have written meanwhile."""
        self.journals = read_journals(self.folder, self.owner, self._read)
        starts = {n: each.start for n, each in self.notebook.exercises.items()}
        self._progress = replay(self.journals.entries, starts)

    def way(self) -> dict[str, Any]:
        """Describe the way through the set, for the list of exercises."""
        entries = self.journals.entries
        return way_view(
            self.notebook.exercises,
            self._progress,
            Counter(each.exercise for each in self._not_handed_in()),
            entries[-1].exercise if entries else 0,
        )

    def _not_handed_in(self) -> list[Entry]:
        return [
            entry
            for file in self.journals.files
            for line, entry in zip(file.lines[1:], file.entries, strict=True)
            if line not in self._handed_in
        ]

    def exercise(self, number: int, *more: str) -> Exercise:
        """Return one exercise of the workbook, with what the student has set up.

        Parameters
        ----------
        more : str
            What is to be done next, by the item of the journal.
        """
        exercises = self.notebook.exercises
        if number not in exercises:
            known = ", ".join(str(each) for each in sorted(exercises))
            no = _("There is no exercise {number} in this workbook; it has {known}.")
            raise RefusedError(no.format(number=number, known=known))
        items = (*self._items(number), *more)
        exercise = exercises[number]
        if any(map(is_code, items)):
            # Most open a workbook without one, and need not wait for what judges it.
            from workbook.measuring.offered import with_set_ups

            exercise = with_set_ups(exercise, items)
        return self.readings.filled(exercise) if self.readings else exercise

    def _items(self, number: int) -> tuple[str, ...]:
        """Name the tests done in an exercise, in order."""
        return tuple(test.item for test in self.progress(number).tests)

    def measured(self, number: int, set_up: SetUp) -> tuple[Exercise, str]:
        """Put a set-up that is not recorded yet among the tests of an exercise.

        Returns
        -------
        tuple of Exercise and str
            What the journal will call it: a code, or the id of the test that it is.

        Raises
        ------
        RefusedError
            When this circuit cannot be put into it, or nothing but the list is there.
        """
        bench = self.exercise(number).bench
        if bench is None:
            raise RefusedError(_("Here only the tests of the list can be done."))
        item = item_of(set_up, bench)
        return self.exercise(number, item), item

    def take(
        self,
        lines: Mapping[str, tuple[int, Sequence[str]]],
        readings: Mapping[tuple[int, str], Reading],
    ) -> None:
        """Take what the room of an examination has sent.

        Parameters
        ----------
        lines : mapping
            By session the place of the first line, and the lines: those of another
            machine, or those that this one has lost.
        readings : mapping
            By exercise and test.

        Raises
        ------
        JournalError
            When something cannot be written.
        """
        for session, (at, own) in lines.items():
            # What this session writes was here first, and is on its way to the room.
            if SESSION.fullmatch(session) and session != self.journal.session:
                add_lines(journal_path(self.folder, self.owner, session), at, own)
        for (number, test), reading in readings.items():
            if self.readings:
                self.readings.keep(number, test, reading)
        self._replay()

    def set_aside(self, counts: Mapping[str, int]) -> None:
        """Set aside the lines that the room does not take, and begin a new journal.

        Parameters
        ----------
        counts : mapping
            By session how many lines the room has.

        Raises
        ------
        JournalError
            When something cannot be written.
        """
        for file in self.journals.files:
            kept = counts.get(file.session, 0)
            if kept < len(file.lines):
                set_aside(self.folder / file.name, kept)
        self.journal.begin()
        # Only here a journal gets shorter: what was read of it before holds no more.
        self._read.clear()
        self._replay()

    def progress(self, number: int) -> ExerciseProgress:
        """Return how far one exercise has come."""
        return self._progress.get(number, ExerciseProgress())

    @property
    def can_restart(self) -> bool:
        """Whether an exercise may be done once more."""
        return self.notebook.mode == "practice"

    def record(self, entry: Entry) -> Entry:
        """Record one entry.

        Parameters
        ----------
        entry : Entry
            Not recorded yet.

        Returns
        -------
        Entry
            As written, after it is safely on disk.

        Raises
        ------
        RefusedError
            When it is not due; nothing is written.
        JournalError
            When it cannot be written.
        """
        self._replay()
        number = entry.exercise
        if isinstance(entry, Restart) and not self.can_restart:
            raise RefusedError(_("Only a practice set is begun once more."))
        exercise = self.exercise(number, *_set_up_in(entry))
        reason = refusal(exercise, self.progress(number), entry)
        if not reason and self._waits_for(entry):
            reason = _("The reading is not there yet.")
        if reason:
            raise RefusedError(reason)
        entries = self.journals.entries
        newest = entries[-1].time if entries else ""
        try:
            written = self.journal.append(entry, not_before=newest)
        except JournalError as error:
            self.trouble = str(error)
            raise
        self.trouble = ""
        self._replay()
        return written

    def _waits_for(self, entry: Entry) -> bool:
        """Tell whether a finding comes before its reading."""
        if self.readings is None or not isinstance(entry, Finding):
            return False
        return not self.exercise(entry.exercise).test(entry.item).display

    def lines(self) -> dict[str, list[str]]:
        """Return the lines of all journals by file name, for the page's own copy."""
        return {file.name: list(file.lines) for file in self.journals.files}

    def hand_in(self) -> bytes:
        """Return the hand-in, and leave a copy of it beside the notebook."""
        self._replay()
        data = hand_in_bytes(self.owner, self.notebook.mode, self.journals.lines)
        # Not by splitlines(), which parts a line at any line end that a student typed.
        self._handed_in = frozenset(data.decode().split("\n"))
        # The copy is a convenience: the page gets the bytes in any case.
        with suppress(OSError):
            part = self._hand_in_path.with_suffix(".part")
            part.write_bytes(data)
            part.replace(self._hand_in_path)
        return data

    def hand_in_state(self) -> dict[str, Any]:
        """Return what the page says beside its hand-in button."""
        return {
            "name": hand_in_name(self.owner),
            "header": hand_in_header(self.owner, self.notebook.mode),
            "recorded": len(self.journals.entries),
            "not_handed_in": len(self._not_handed_in()),
            "readings": self.readings.given if self.readings else None,
        }

    @property
    def _hand_in_path(self) -> Path:
        return self.folder / hand_in_name(self.owner)

    def _lines_on_disk(self) -> frozenset[str]:
        """Return the lines of the last hand-in, if its copy is there."""
        try:
            return frozenset(self._hand_in_path.read_text("utf-8").split("\n"))
        except (OSError, UnicodeError):
            return frozenset()


def _set_up_in(entry: Entry) -> tuple[str, ...]:
    """The set-up that an entry asks for, if it is one."""
    is_own = isinstance(entry, ChosenTest) and is_code(entry.item)
    return (entry.item,) if is_own else ()


def refusal(exercise: Exercise, progress: ExerciseProgress, entry: Entry) -> str:
    """Say why an entry is not due; an empty text if it is.

    Parameters
    ----------
    exercise : Exercise
        What is asked.
    progress : ExerciseProgress
        What is recorded.
    entry : Entry
        What is to be recorded next.

    Returns
    -------
    str
        A sentence for the student.
    """
    if isinstance(entry, Note) and len(entry.text) > MAX_NOTE_LENGTH:
        text = _("A note has at most {count} characters.")
        return text.format(count=MAX_NOTE_LENGTH)
    if misfit(exercise, entry) or unknown_words(exercise, entry):
        return _("The page asked for something that this exercise does not have.")
    is_early = len(progress.predictions) < len(exercise.predictions)
    if is_early and entry.kind in {"test", "hint"}:
        return _("Record all your predictions before the first test.")
    if progress.finding_due and entry.kind in {"test", "hint", "conclusion"}:
        return _("Record what the last reading shows first.")
    if isinstance(entry, Hint) and entry.step > len(hints(exercise, progress.tests)):
        return _("There is no further hint here.")
    # What the fold would ignore is never written.
    if after(progress, entry) is progress:
        return _(
            "This is recorded already, or its turn has passed. Nothing was changed."
        )
    return ""
