"""What a reading proves: for each test at most six statements, one of them right.

A statement says which sections of the circuit a reading clears, and which are still
suspect. Those of a test are what each of its outcomes would prove by itself among the
causes of the complaint, and what known misconceptions would say: a list that does not
depend on the fault that is there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from generator.drawing.exercise import Exercise
from generator.model.catalogue.repairs import sections_along
from generator.model.catalogue.wrong_state import LIKE
from generator.model.diagnostics import PROVES_NOTHING
from generator.workbooks.statement_rules import Rule, rules_at
from workbook.measuring.proofs import Proof, numbered, proved_words, suspect_of
from workbook.record.circuit import Section
from workbook.texts import language

_OPEN = 32
"""Exercises whose statements are kept: all pages of a workbook are written before its
keys, which have the same."""


@dataclass(frozen=True, kw_only=True)
class Statement(Proof):
    """Something that a reading could prove.

    ``rule`` is the misconception that says it, where no outcome does.
    """

    rule: Rule | None = None

    def misconception_at(self, outcome: str) -> str:
        """Id of the misconception that says this at an outcome; empty if none does."""
        word = outcome.partition(",")[0]  # whatever the fuse was like
        if self.rule is None or (self.rule.when and word not in self.rule.when):
            return ""
        return self.rule.id


def sections_in(exercise: Exercise) -> tuple[Section, ...]:
    """Sections in which a cause of the complaint can lie, named, along the path."""
    nominal, fill = exercise.specification.nominal, exercise.specification.names.fill
    held = frozenset[str]().union(*exercise.sections_of_causes)
    return tuple(
        Section(id=section.id, label=fill(section.label), branch=section.branch)
        for section in sections_along(nominal)
        if section.id in held
    )


def statements_in(exercise: Exercise) -> tuple[tuple[Statement, ...], ...]:
    """Statements of each test, in an order that tells nothing.

    They follow from the sections that they suspect, along the path. A test done in a
    wrong state has those of the test that it passes for: what the outcome that it
    seems to have would prove, and that nothing can be told.
    """
    return _statements(
        sections_in(exercise),
        exercise.sections_of_causes,
        tuple(test.id for test in exercise.tests),
        exercise.outcome,
        language(),
    )


@lru_cache(maxsize=_OPEN)
def _statements(
    sections: tuple[Section, ...],
    places: tuple[frozenset[str], ...],
    tests: tuple[str, ...],
    outcome: tuple[tuple[str, ...], ...],
    _spoken: str,
) -> tuple[tuple[Statement, ...], ...]:
    columns = dict(zip(tests, zip(*outcome, strict=True), strict=True))
    # Numbered for each proper test by itself; the wrong states then take theirs whole.
    found = {
        name: numbered(
            [
                *_of_outcomes(sections, places, column),
                *_of_rules(sections, rules_at(name, sections[0].id)),
            ],
            sections,
        )
        for name, column in columns.items()
        if name not in LIKE
    }
    return tuple(
        _proving_nothing(found[LIKE[name]]) if name in LIKE else found[name]
        for name in columns
    )


def _proving_nothing(statements: Sequence[Statement]) -> tuple[Statement, ...]:
    """Let the reading prove that nothing can be told."""
    return tuple(
        one
        if one.cleared
        else replace(one, outcomes=(*one.outcomes, PROVES_NOTHING), rule=None)
        for one in statements
    )


def _of_outcomes(
    sections: Sequence[Section],
    places: Sequence[frozenset[str]],
    column: Sequence[str],
) -> list[Statement]:
    """What each outcome proves by itself; outcomes that prove the same are one."""
    return [
        Statement(
            cleared=cleared, suspect=suspect_of(sections, cleared), outcomes=words
        )
        for cleared, words in proved_words(sections, places, column).items()
    ]


def _of_rules(sections: tuple[Section, ...], rules: Sequence[Rule]) -> list[Statement]:
    """That nothing can be told, which every test offers; what misconceptions say."""
    said = [
        Statement(cleared=cleared, suspect=suspect_of(sections, cleared), rule=rule)
        for rule in rules
        if len(cleared := cleared_by(rule, sections)) < len(sections)
    ]
    return [Statement(cleared=(), suspect=()), *said]


# Many tests have the same rules.
@lru_cache(maxsize=256)
def cleared_by(rule: Rule, sections: tuple[Section, ...]) -> tuple[str, ...]:
    """Ids of the sections that a rule clears."""
    named = {*rule.clears, *rule.suspects}
    # A rule names either what it clears or what it suspects; the other is the rest.
    return tuple(
        section.id
        for section in sections
        if bool({section.id, section.branch} & named) == bool(rule.clears)
    )


def right_statement(statements: Sequence[Statement], outcome: str) -> str:
    """Id of what a test proves at its outcome."""
    return next(one.id for one in statements if outcome in one.outcomes)
