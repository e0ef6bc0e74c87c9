"""The gradebook: every grading that was ever made, never overwritten."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import (
    Collection,
    Iterable,
    Iterator,
    Mapping,
    Sequence,
)
from dataclasses import asdict, replace
from datetime import datetime
from itertools import groupby, islice
from operator import itemgetter
from typing import Any

import sqlalchemy as sa

from answer_keys.errors import GradebookError
from answer_keys.gradebook import gradebook_persons as persons
from answer_keys.gradebook import gradebook_rows as rows
from answer_keys.gradebook import standing_rows
from answer_keys.gradebook.bulk import insert
from answer_keys.gradebook.gradebook_engine import write_anew
from answer_keys.gradebook.gradebook_faults import shown
from answer_keys.gradebook.gradebook_persons import Forgotten
from answer_keys.gradebook.gradebook_schema import (
    CHOICES,
    GRADINGS,
    OVERRIDES,
    RECEIPTS,
    STANDINGS,
)
from answer_keys.gradebook.opened_gradebook import OpenedGradebook
from answer_keys.gradebook.receipts import Receipts, receipts_packed
from answer_keys.gradebook.standings import Override, Receipt, Standing, with_overrides
from answer_keys.marking.marked import Counted, Grading, Known, MarkedWork, Source
from answer_keys.visible_text import visible
from workbook.texts import _

# A message is one line; who has more changed than this restores a backup anyway.
_SHOWN_CHANGES = 5
_AT_A_TIME = 500


class Gradebook(OpenedGradebook):
    """A gradebook in a database; use it as a context manager.

    Parameters
    ----------
    place : pathlib.Path or str
        A file for SQLite, or the address of a database, such as
        ``postgresql+psycopg://user@host/name``.

    Raises
    ------
    GradebookError
        Where it cannot be opened. All that its methods do raises it too, where the
        database is locked, full, away or damaged: one sentence with its remedy.

    Notes
    -----
    Several graders may write at once: they take turns, a transaction each, and what a
    killed one had not finished is not there. A grading that equals the newest one of
    its hand-in in rubric, software and marks adds nothing; any other is a new row.
    """

    def record(self, works: Sequence[MarkedWork], source: Source, at: datetime) -> int:
        """Record hand-ins with their marks, all or none.

        Parameters
        ----------
        works : sequence of MarkedWork
            A hand-in that was received before keeps its first date.
        at : datetime.datetime
            When they were graded.

        Returns
        -------
        int
            How many gradings are new.
        """
        # The same bytes twice are one hand-in.
        by_sha = {work.sha256: work for work in works}
        with self._turn() as connection:
            known = rows.receive(connection, by_sha, at)
            newest = rows.newest_gradings(connection, known) if known else {}
            new = [
                work
                for sha, work in by_sha.items()
                if sha not in newest or newest[sha] != rows.made_of(work, source)
            ]
            gradings = [rows.grading_row(work, source, at) for work in new]
            insert(connection, GRADINGS, gradings)
        return len(new)

    def gradings(self, set_id: str, student: str) -> tuple[Grading, ...]:
        """Return all gradings of a student, of every hand-in, the newest last."""
        query = (
            sa.select(GRADINGS)
            .where(GRADINGS.c.set_id == set_id)
            .where(GRADINGS.c.student == student)
            .order_by(GRADINGS.c.id)
        )
        return tuple(self._read(query, rows.grading_of))

    def counted(self, set_id: str) -> dict[str, Counted]:
        """Return the marks that count of every graded student, by student id.

        What is set by hand is in them as steps of their own.

        Raises
        ------
        GradebookError
            Where marks are no longer those that were recorded: whose, and of which
            file.
        """
        return dict(self.counted_of_sets([set_id])).get(set_id, {})

    def counted_of_sets(
        self, set_ids: Collection[str]
    ) -> Iterator[tuple[str, dict[str, Counted]]]:
        """Return what `counted` does of one set after the other, in the order of ids.

        However many there are, it is one query for the marks and one for what is set
        by hand. Sets of which nothing is graded are left out.
        """
        with self._engine.connect() as connection:
            by_hand = defaultdict[tuple[str, str], list[Override]](list)
            for place, one in rows.overrides_of(connection, *set_ids).items():
                by_hand[place[:2]].append(one)
            newest = standing_rows.newest_standings(connection, set_ids)
            found = rows.read_rows(connection, newest, standing_rows.counted_of)
            # The query has the students of a set one after the other: only neighbours
            # are grouped.
            for set_id, own in groupby(found, key=itemgetter(0)):
                of_class, changed = dict[str, Counted](), dict[str, str]()
                for _, student, counted in own:
                    if isinstance(counted, str):
                        changed[student] = counted
                    else:
                        its = by_hand[set_id, student]
                        marked = with_overrides(counted.exercises, its)
                        of_class[student] = replace(counted, exercises=marked)
                if changed:
                    raise self._changed_marks(changed)
                yield set_id, of_class

    def _changed_marks(self, files: dict[str, str]) -> GradebookError:
        """Say whose marks something else than grading has changed."""
        named = [f"{visible(who)} ({visible(file)})" for who, file in files.items()]
        more = len(named) - _SHOWN_CHANGES
        also = [f"{more} more"] if more > 0 else []
        return GradebookError(
            f"{shown(self._engine.url)}: something else than grading has changed the "
            f"marks of {', '.join(named[:_SHOWN_CHANGES] + also)}, so they count for "
            "nothing. Grade the set again: the marks are made anew from the journal "
            "kept beside them. Where that cannot be, put the returned file into "
            "handed-in/ first"
        )

    def changed(self, set_id: str) -> tuple[str, ...]:
        """Return of which hand-ins the newest marks are not those that were recorded.

        Returns
        -------
        tuple of str
            Their SHA-256.
        """
        with self._engine.connect() as connection:
            marks = rows.marks_of_set(set_id)
            found = rows.read_rows(connection, marks, rows.changed_in)
            return tuple(sha256 for sha256 in found if sha256 is not None)

    def state(self, set_id: str) -> tuple[Any, ...]:
        """Return what is another as soon as anything that counts is decided anew."""
        with self._engine.connect() as connection:
            newest = [
                connection.execute(
                    sa.select(sa.func.max(table.c.id)).where(table.c.set_id == set_id)
                ).scalar()
                for table in (STANDINGS, OVERRIDES)
            ]
        return (*newest, self.receipts(set_id))

    def account(self, set_id: str, receipts: Iterable[Receipt]) -> None:
        """Note what became of every returned file, in place of what was noted."""
        noted = (
            {"set_id": set_id, "position": position, **asdict(receipt)}
            for position, receipt in enumerate(receipts)
        )
        with self._turn() as connection:
            connection.execute(RECEIPTS.delete().where(RECEIPTS.c.set_id == set_id))
            # Of all files of a large class they are more than need lie in memory.
            while some := list(islice(noted, _AT_A_TIME)):
                insert(connection, RECEIPTS, some)

    def receipts(self, set_id: str) -> Receipts:
        """Return what became of every file that was returned for the last grading."""
        query = (
            sa.select(*(RECEIPTS.c[name] for name in Receipt.__dataclass_fields__))
            .where(RECEIPTS.c.set_id == set_id)
            .order_by(RECEIPTS.c.position)
            .execution_options(yield_per=_AT_A_TIME)
        )
        with self._engine.connect() as connection:
            found = rows.read_rows(connection, query, standing_rows.receipt_of)
            return receipts_packed(found)

    def work(self, sha256: str) -> MarkedWork:
        """Return a hand-in with the marks of its newest grading.

        Raises
        ------
        KeyError
            Where no such hand-in was graded.
        """
        found = self._read(rows.newest_of_hand_in(sha256), rows.work_of)
        if not found:
            raise KeyError(sha256)
        return found[0]

    def known(self, set_id: str) -> Iterator[Known]:
        """Return every hand-in that was ever graded, one by one."""
        with self._engine.connect() as connection:
            yield from rows.known_in(connection, set_id)

    def choose(
        self, set_id: str, choices: Mapping[str, tuple[str, ...]], at: datetime
    ) -> int:
        """Take hand-ins of students by hand; what holds already adds nothing.

        Parameters
        ----------
        choices : mapping of str to tuple of str
            By student the SHA-256 of those taken; several count as one, and none
            takes an earlier choice back.
        at : datetime.datetime
            When that was chosen.
        """
        with self._turn() as connection:
            held = rows.choices_of(connection, set_id)
            new = [
                rows.choice_row(set_id, student, hand_ins, at)
                for student, hand_ins in choices.items()
                if held.get(student, ()) != hand_ins
            ]
            insert(connection, CHOICES, new)
        return len(new)

    def choices(self, set_id: str) -> dict[str, tuple[str, ...]]:
        """Return by student which hand-ins the instructor takes now."""
        with self._engine.connect() as connection:
            found = rows.choices_of(connection, set_id)
        return {student: hand_ins for student, hand_ins in found.items() if hand_ins}

    def override(self, set_id: str, overrides: Iterable[Override], at: datetime) -> int:
        """Set marks by hand; one that says the same as the newest adds nothing."""
        added = 0
        with self._turn() as connection:
            known = rows.overrides_of(connection, set_id)
            # One by one: the same step may stand twice in a table, and then the last
            # counts.
            for one in overrides:
                place = set_id, one.student, one.exercise, one.step
                if known.get(place) != one:
                    known[place] = one
                    row = rows.override_row(set_id, one, at)
                    connection.execute(OVERRIDES.insert().values(row))
                    added += 1
        return added

    def overrides(self, set_id: str) -> dict[str, tuple[Override, ...]]:
        """Return by student what is set by hand now."""
        with self._engine.connect() as connection:
            found = rows.overrides_of(connection, set_id)
        by_student: defaultdict[str, list[Override]] = defaultdict(list)
        for one in found.values():
            by_student[one.student].append(one)
        return {student: tuple(some) for student, some in by_student.items()}

    def settle(
        self,
        set_id: str,
        standings: Sequence[Standing],
        source: Source,
        at: datetime,
    ) -> int:
        """Record which hand-in counts for each student; what holds adds nothing.

        A standing is of the grading that its own source has made: another grader may
        have marked the same hand-in since, by another rubric.
        """
        with self._turn() as connection:
            held_now = standing_rows.held_standings(connection, set_id)
            held = {row.student: row for row in connection.execute(held_now)}
            hand_ins = [one.hand_in_sha256 for one in standings]
            gradings = rows.grading_ids_by(connection, hand_ins, source)
            gone = [s for s in standings if s.hand_in_sha256 not in gradings]
            if gone:
                raise GradebookError(
                    _(
                        "{place}: the marks of {student} were deleted while this "
                        "grading ran; grade again"
                    ).format(place=shown(self._engine.url), student=gone[0].student)
                )
            wanted = [
                standing_rows.standing_row(set_id, one, gradings[one.hand_in_sha256])
                for one in standings
            ]
            new = [
                row | {"decided_at": rows.utc_text(at)}
                for row in wanted
                if not standing_rows.is_held(row, held.get(row["student"]))
            ]
            insert(connection, STANDINGS, new)
        return len(new)

    def standings(self, set_id: str) -> tuple[Standing, ...]:
        """Return the standing of each student that holds now, in the order of ids."""
        with self._engine.connect() as connection:
            newest = standing_rows.newest_standings(connection, [set_id])
            return tuple(rows.read_rows(connection, newest, standing_rows.standing_of))

    def everything_of(
        self, set_id: str, student: str, name: str = ""
    ) -> dict[str, list[dict[str, Any]]]:
        """Return every row about a student, by table, as JSON can hold it.

        Those of refused files are in it that mention the student, by id or name.
        """
        with self._engine.connect() as connection:
            about = persons.abouts(connection, set_id, student, name)
            queries = {
                table: sa.select(table).where(own).order_by(*table.primary_key.columns)
                for table, own in about.items()
            }
            return {
                table.name: list(rows.read_rows(connection, query, persons.plain_row))
                for table, query in queries.items()
            }

    def forget(self, set_id: str, student: str, name: str = "") -> Forgotten:
        """Delete what `everything_of` gives, and blank what others' rows say of it.

        Raises
        ------
        GradebookError
            Where another program keeps bytes of it in the file; none is left of the
            rows all the same.
        """
        with self._turn() as connection:
            about = persons.abouts(connection, set_id, student, name)
            counts = {
                table.name: connection.execute(sa.delete(table).where(own)).rowcount
                for table, own in about.items()
            }
            blanked = persons.blank_mentions(connection, set_id, student, name)
        if self.is_file:
            write_anew(self._engine)
        return Forgotten(rows=counts, blanked=blanked)

    def old_students(
        self, before: datetime, set_ids: Collection[str] | None = None
    ) -> dict[str, tuple[str, ...]]:
        """Tell by set whom `forget_before` would forget."""
        with self._turn() as connection:
            return persons.old_students(connection, before, set_ids)

    def forget_before(
        self, before: datetime, set_ids: Collection[str] | None = None
    ) -> tuple[dict[str, tuple[str, ...]], Counter[str]]:
        """Delete all of whoever has handed in nothing new since a moment.

        Parameters
        ----------
        before : datetime.datetime
            A hand-in that was graded first from then on keeps all of its student.
        set_ids : collection of str or None
            None forgets in all sets.

        Returns
        -------
        students : dict of str to tuple of str
            Who was forgotten, by set.
        rows : counter of str
            How many were deleted, by table.
        """
        rows = Counter[str]()
        with self._turn() as connection:
            old = persons.old_students(connection, before, set_ids)
            for set_id, students in old.items():
                rows.update(persons.forget_old(connection, set_id, students))
        if self.is_file and old:
            write_anew(self._engine)
        return old, rows
