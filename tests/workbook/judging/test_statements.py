"""Statements judged along a path, and folded into a picture."""

from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbook.judging.statements import (
    Stated,
    circuit_as_stated,
    judge_statements,
    listed,
    worths,
)

SECTIONS = ("fuse", "wire", "coil", "ground")
SETS = st.frozensets(st.sampled_from(SECTIONS))


@dataclass(frozen=True)
class Claim:
    """What a statement clears; it suspects the rest."""

    cleared: tuple[str, ...] = ()
    id: str = "said"

    @property
    def suspect(self):
        """All that is not cleared, or nothing where nothing can be told."""
        return tuple(s for s in SECTIONS if s not in self.cleared and self.cleared)


def clears(*cleared, name=None):
    """Claim with an id of its own."""
    return Claim(cleared, name or "clears " + ", ".join(cleared))


def stated(said, right, open_, found=""):
    """One finding."""
    return Stated(said=said, right=right, found=found, open=frozenset(open_))


def verdicts(*path):
    """What the statements of a path are worth."""
    return [judged.verdict for judged in judge_statements(path)]


@pytest.mark.parametrize(
    ("said", "found", "verdict"),
    [
        (clears("fuse", "wire"), "", "right"),
        (clears("fuse"), "", "true"),
        (clears(), "", "true"),
        (clears("coil", name="s9"), "s9", "follows"),
        (clears("fuse", "coil"), "", "wrong"),
    ],
)
def test_statement_is_judged_by_what_it_clears(said, found, verdict):
    """Only what clears a section in which the fault may lie is wrong."""
    right = clears("fuse", "wire")
    assert verdicts(stated(said, right, ("coil", "ground"), found)) == [verdict]


def test_mistake_is_marked_where_it_is_first_made():
    """A section once cleared wrongly costs no second time, a new one does."""
    first = stated(clears("coil"), clears("fuse"), ("wire", "coil", "ground"))
    again = stated(clears("wire", "coil"), clears("wire"), ("coil", "ground"))
    other = stated(clears("coil"), clears("wire"), ("coil", "ground"))
    worse = stated(clears("coil", "ground"), clears("wire"), ("coil", "ground"))
    assert verdicts(first, again, other, worse) == [
        "wrong",
        "repeated",
        "true",
        "wrong",
    ]


def test_new_mistake_names_only_what_is_new():
    """A wrong statement is told which sections it is that it clears wrongly."""
    first = stated(clears("coil"), clears("fuse"), ("wire", "coil", "ground"))
    worse = stated(clears("coil", "ground"), clears("wire"), ("coil", "ground"))
    _, judged = judge_statements([first, worse])
    assert judged.wrongly == {"ground"}


def test_mistake_in_the_outcome_is_not_marked_again_later():
    """What follows from a wrong outcome is set aside for the rest of the path."""
    misread = stated(clears("coil", name="s2"), clears("fuse"), ("wire", "coil"), "s2")
    later = stated(clears("fuse", "coil"), clears("fuse"), ("wire", "coil"))
    assert verdicts(misread, later) == ["follows", "repeated"]


@given(st.lists(st.tuples(SETS, SETS, SETS), max_size=5))
def test_no_section_is_held_against_a_student_twice(steps):
    """Over a whole path every section is cleared wrongly at most once."""
    path, open_ = [], frozenset(SECTIONS)
    for said, right, ruled_out in steps:
        open_ -= ruled_out
        path.append(stated(clears(*said), clears(*right, name="right"), open_))
    told = [s for judged in judge_statements(path) for s in judged.wrongly]
    assert len(told) == len(set(told))


@pytest.mark.parametrize(
    ("said", "worth"),
    [
        (("fuse", "wire"), 1.0),
        (("fuse",), 0.25),
        ((), 0.0),
        (("coil", "ground"), -0.5),
        (("fuse", "coil"), -0.5),
    ],
)
def test_worth_of_a_statement_goes_with_what_it_clears_rightly(said, worth):
    """Less is worth up to half, nothing told is free, and what is wrong costs."""
    step = stated(clears(*said), clears("fuse", "wire"), ("coil", "ground"))
    [judged] = judge_statements([step])
    assert judged.worth == worth


@given(st.lists(st.tuples(SETS, SETS, SETS), max_size=5))
def test_statements_never_keep_less_than_nothing_nor_more_than_they_earn(steps):
    """Wrong ones take off what others earn, and no more than that."""
    path = [
        stated(clears(*said), clears(*right, name="right"), open_)
        for said, right, open_ in steps
    ]
    judged = list(judge_statements(path))
    kept = worths(judged)
    assert all(0 <= k <= max(0, j.worth) for k, j in zip(kept, judged, strict=True))
    assert sum(kept) == pytest.approx(max(0, sum(each.worth for each in judged)))


def test_picture_narrows_down():
    """What is cleared stays cleared, and the rest stays suspect."""
    shown = circuit_as_stated(SECTIONS, [clears("fuse"), clears("wire", "coil")])
    assert list(shown.states.values()) == ["cleared", "cleared", "cleared", "suspect"]
    assert not shown.is_contradicted


def test_picture_tells_nothing_where_nothing_was_told():
    """Before a statement, and after one that tells nothing, nothing is told."""
    assert set(circuit_as_stated(SECTIONS, []).states.values()) == {"not told yet"}
    assert circuit_as_stated(SECTIONS, [clears()]) == circuit_as_stated(SECTIONS, [])


def test_contradiction_makes_suspect_again():
    """When nothing is left for the fault, the last statement counts."""
    twice = [clears("fuse", "wire"), clears("coil", "ground")]
    shown = circuit_as_stated(SECTIONS, twice)
    assert shown.is_contradicted
    assert list(shown.states.values()) == ["suspect", "suspect", "cleared", "cleared"]
    assert not circuit_as_stated(SECTIONS, [*twice, clears("coil")]).is_contradicted


@given(st.lists(SETS, max_size=6))
def test_picture_always_leaves_a_suspect(steps):
    """As long as no statement clears everything, something is left to suspect."""
    claims = [clears(*cleared) for cleared in steps if 0 < len(cleared) < 4]
    states = circuit_as_stated(SECTIONS, claims).states
    assert not claims or "suspect" in states.values()


def test_sections_are_listed_as_words():
    """One, two or more names read as a list in a sentence."""
    assert listed(["the fuse"], "or") == "the fuse"
    assert listed(["the fuse", "the coil"], "and") == "the fuse and the coil"
