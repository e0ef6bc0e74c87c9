"""What a reading proves: for each test at most six statements, one of them right.

A statement says which sections of the circuit a reading clears, and which are still
suspect. Those of a test are what each of its outcomes would prove by itself among the
causes of the complaint, and what known misconceptions would say: a list that does not
depend on the fault that is there.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from generator.drawing.exercise import Exercise
from generator.model.diagnostics import PROVES_NOTHING
from generator.model.repairs import Section, sections_along
from generator.model.wrong_state import LIKE
from generator.workbooks.statement_rules import Rule, rules_at
from workbook.judging.statements import listed
from workbook.texts import _

MOST = 6
"""Statements of one test, at most, unless its outcomes prove more."""

# Sections of a circuit from which on one that is left out is named instead of the rest.
_ENOUGH = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """Something that a reading could prove.

    ``cleared`` and ``suspect`` are ids of sections, together all of them; both are
    empty where nothing can be told yet. ``outcomes`` are the words that prove it;
    ``rule`` is the misconception that says it, where no outcome does.
    """

    id: str
    text: str
    cleared: tuple[str, ...]
    suspect: tuple[str, ...]
    outcomes: tuple[str, ...] = ()
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
        replace(section, label=fill(section.label))
        for section in sections_along(nominal)
        if section.id in held
    )


def statements_in(exercise: Exercise) -> tuple[tuple[Statement, ...], ...]:
    """Statements of each test, in an order that tells nothing.

    They follow from the sections that they suspect, along the path. A test done in a
    wrong state has those of the test that it passes for: what the outcome that it
    seems to have would prove, and that nothing can be told.
    """
    sections, places = sections_in(exercise), exercise.sections_of_causes
    columns = dict(
        zip(
            [test.id for test in exercise.tests],
            zip(*exercise.outcome, strict=True),
            strict=True,
        )
    )
    found = {
        name: _numbered(
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
    proved: dict[tuple[str, ...], tuple[str, ...]] = {}
    for word in dict.fromkeys(column):
        fits = [at for at, shown in zip(places, column, strict=True) if shown == word]
        # One cause may lie in several sections: each of them stays suspect.
        suspect = frozenset[str]().union(*fits)
        cleared = tuple(s.id for s in sections if s.id not in suspect)
        proved[cleared] = (*proved.get(cleared, ()), word)
    return [
        replace(_statement(sections, cleared), outcomes=words)
        for cleared, words in proved.items()
    ]


def _of_rules(sections: Sequence[Section], rules: Sequence[Rule]) -> list[Statement]:
    """That nothing can be told, which every test offers; what misconceptions say."""
    said = [
        replace(_statement(sections, cleared), rule=rule)
        for rule in rules
        if len(cleared := _cleared_by(rule, sections)) < len(sections)
    ]
    return [_statement(sections, ()), *said]


def _cleared_by(rule: Rule, sections: Sequence[Section]) -> tuple[str, ...]:
    named = {*rule.clears, *rule.suspects}
    # A rule names either what it clears or what it suspects; the other is the rest.
    return tuple(
        section.id
        for section in sections
        if bool({section.id, section.branch} & named) == bool(rule.clears)
    )


def _statement(sections: Sequence[Section], cleared: tuple[str, ...]) -> Statement:
    left = tuple(s.id for s in sections if s.id not in cleared) if cleared else ()
    return Statement(
        id="", text=_text(sections, cleared, left), cleared=cleared, suspect=left
    )


def _text(
    sections: Sequence[Section], cleared: Collection[str], suspect: Collection[str]
) -> str:
    """Say what is cleared or what is suspect, whichever is shorter."""
    if not cleared:
        return _("Nothing can be told from this reading yet")
    lies = _("The fault lies in {sections}; all else is cleared")
    clears = _("This clears {sections}; all else is still suspect")
    return min(
        lies.format(sections=_listed(sections, suspect, _("or"))),
        clears.format(sections=_listed(sections, cleared, _("and"))),
        key=len,
    )


def _listed(sections: Sequence[Section], ids: Collection[str], word: str) -> str:
    the = _("the {section}")
    return listed([the.format(section=name) for name in _named(sections, ids)], word)


def _named(sections: Sequence[Section], ids: Collection[str]) -> list[str]:
    """Names of sections, a circuit by its own name where nearly all of it is named."""
    names = []
    for branch in dict.fromkeys(section.branch for section in sections):
        own = [section for section in sections if section.branch == branch]
        among = [section.label for section in own if section.id in ids]
        others = [section.label for section in own if section.id not in ids]
        # Neither circuit is named by what both share, nor by one section of two.
        if branch == "both circuits" or len(others) > 1 or len(own) < _ENOUGH:
            names += among
        elif others:
            but = _("{circuit} (not the {section})")
            names.append(but.format(circuit=_(branch), section=others[0]))
        else:
            names.append(_(branch))
    return names


def _numbered(
    statements: Sequence[Statement], sections: Sequence[Section]
) -> tuple[Statement, ...]:
    """Leave out what is said already, then sort along the path and number."""
    # What outcomes prove comes before what misconceptions say: no cut at the end, and
    # no statement with the same words, takes a right one away.
    distinct: dict[tuple[str, ...], Statement] = {}
    for statement in statements:
        distinct.setdefault(statement.cleared, statement)
    place = {section.id: number for number, section in enumerate(sections)}
    # By what they suspect, so that no place in the list tells which of them is right.
    ordered = sorted(
        _at_most(distinct.values()),
        key=lambda one: (not one.cleared, [place[id_] for id_ in one.suspect]),
    )
    return tuple(
        replace(statement, id=f"s{number}")
        for number, statement in enumerate(ordered, start=1)
    )


def _at_most(statements: Collection[Statement]) -> list[Statement]:
    """Cut off what misconceptions say but the first, and nothing that can be right."""
    said = [one for one in statements if one.outcomes or not one.cleared]
    rules = [one for one in statements if one not in said]
    return said + rules[: max(1, MOST - len(said))]


def right_statement(statements: Sequence[Statement], outcome: str) -> str:
    """Id of what a test proves at its outcome."""
    return next(one.id for one in statements if outcome in one.outcomes)
