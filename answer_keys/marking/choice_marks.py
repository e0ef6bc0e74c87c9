"""Marks for choosing: what each test wastes against the plan, and why."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from answer_keys.keys.key_record import KeyRecord, TestKey
from answer_keys.keys.wording import listed, minutes_text
from answer_keys.marking.marks import StepMark, no_test
from answer_keys.marking.visits import (
    SAME_WAYS,
    Turn,
    Visit,
    Work,
    tests_to_proof,
    turn_of,
)
from answer_keys.method import DEFAULT_METHOD, Step
from answer_keys.mistakes import MISTAKES
from generator.model.plan_tree import State
from workbook.record.progress import hint_cost
from workbook.texts import _, language, ngettext

MINUTES_TO_A_THIRD = 3.0
"""Wasted minutes that leave 1/e, about a third, of a choice's mark."""

# A test that fits a new part to see whether it helps.
_PART_SWAP = "load_current_new_relay"


def choices(work: Work, method: Sequence[Step] = DEFAULT_METHOD) -> Iterator[StepMark]:
    """Judge each test that the student chose, and when the student stopped.

    Each is judged from the causes that the real readings before had left, whatever
    the student took from them: a misread outcome costs its finding and nothing here.
    """
    given = work.progress.given_tests
    if not work.own_path:
        yield no_test("choices", _("Choice of tests"))
        return
    for place in range(given, len(work.path)):
        if not work.path[place].test.is_too_near:
            yield _choice(work, place, tuple(method))
    yield _stop(work)


@dataclass(frozen=True, slots=True)
class _Choice:
    """The last of some tests, given by their numbers."""

    record: KeyRecord
    way: tuple[int, ...]

    @property
    def turn(self) -> Turn:
        """Where it stands, and what it leads to."""
        return turn_of(self.record, self.way)

    @property
    def earlier(self) -> list[Turn]:
        """The tests done before."""
        ends = range(1, len(self.way))
        return [turn_of(self.record, self.way[:end]) for end in ends]

    def minutes(self, test: TestKey) -> float:
        """What a test would have taken in its place."""
        plan, at = self.record.plan_with(self.record.test_number(test.id))
        return plan.minutes(self.turn.before, at)

    def helps(self) -> bool:
        """Whether the last of them tells anything."""
        plan, at = self.record.plan_with(self.turn.number)
        return at in plan.helping(self.turn.before)


def _follows(known: Sequence[str], asked: Sequence[str]) -> bool:
    """Whether the outcome of one test fixes that of another."""
    # It does where no outcome of the one goes together with two of the other.
    return len(set(zip(known, asked, strict=True))) == len(set(known))


def _choice(work: Work, place: int, method: tuple[Step, ...]) -> StepMark:
    visit, path = work.path[place], work.path[: place + 1]
    way = tuple(each.turn.number for each in path)
    share, reason, misconception = _worth(work.record, way, method, language())
    if share < 1 and not visit.test.mistake:
        reason += _misread(path[:-1])
    hints = visit.done.hints
    return StepMark(
        item=visit.test.id,
        title=visit.test.title,
        mark=share * (1 - hint_cost(hints)),
        out_of=1.0,
        reason=reason + (_hint_reason(hints) if share else ""),
        misconception=misconception,
        minutes_wasted=visit.turn.minutes_wasted,
        hints=hints,
    )


@lru_cache(maxsize=SAME_WAYS)
def _worth(
    record: KeyRecord, way: tuple[int, ...], method: tuple[Step, ...], _spoken: str
) -> tuple[float, str, str]:
    """Judge the last of some tests: its share, why, and the misconception it shows.

    The words are kept for each language by itself.
    """
    chosen = _Choice(record, way)
    turn = chosen.turn
    # A wrong state first: it misleads, however few its minutes are.
    if turn.test.mistake:
        return 0.0, turn.test.mistake, MISTAKES.get(turn.test.id, "")
    # It tells no cause from another, and nobody shall work on what is not there.
    is_first = turn.test.sorting == "complaint" and len(way) == 1
    if is_first and not chosen.helps():
        return 1.0, _("The complaint is verified before anything is measured."), ""
    if turn.planned is None and not turn.minutes_wasted:
        told = _("It shows once more, at its own part, what was proved already.")
        return 1.0, told, ""
    if not turn.minutes_wasted:
        told = _("A good choice: no other test leads to the cause in fewer minutes.")
        return 1.0, told, ""
    # The instructor's own order is taught, so it never costs a mark.
    if _is_due(chosen, method):
        return 1.0, _by_method(turn), ""
    share = math.exp(-turn.minutes_wasted / MINUTES_TO_A_THIRD)
    return share, *_why_wasted(chosen)


def _is_due(chosen: _Choice, method: Sequence[Step]) -> bool:
    """Whether a test is due by a method: no earlier step has one that helps."""
    record, number = chosen.record, chosen.turn.number
    helping = record.plan.helping(chosen.turn.before)
    steps = {record.steps[test] for test in helping}
    due = next((step for step in method if step in steps), None)
    return number in helping and record.steps[number] == due


def _by_method(turn: Turn) -> str:
    """Say how far the least minutes lie from the method, which is never marked down."""
    planned, lost = turn.planned, minutes_text(turn.minutes_wasted)
    told = _("A good choice by the house method.")
    if planned is None:
        return told
    less = _("“{test}” first would have taken {minutes} less, on average.")
    return f"{told} {less.format(test=planned.title, minutes=lost)}"


def _why_wasted(chosen: _Choice) -> tuple[str, str]:
    """Say why a choice wastes minutes, and name the misconception that it shows."""
    turn, planned = chosen.turn, chosen.turn.planned
    lost = minutes_text(turn.minutes_wasted)
    if planned is None:
        late = _("The cause was proved already; this test took another {minutes}.")
        return late.format(minutes=lost), "measured_after_proof"
    better = _("“{test}” ({minutes})").format(
        test=planned.title, minutes=minutes_text(chosen.minutes(planned))
    )
    if not chosen.helps():
        reason, misconception = _why_nothing(chosen)
        more = _("{test} would have told more.").format(test=better)
        return f"{reason} {more}", misconception
    reason, misconception = _why_dear(chosen)
    dear = _(
        "From here this way takes {minutes} more, on average, than starting with "
        "{test}."
    )
    return f"{reason} {dear.format(minutes=lost, test=better)}", misconception


def _why_nothing(chosen: _Choice) -> tuple[str, str]:
    """Say why a test told nothing."""
    test, count = chosen.turn.test, len(chosen.turn.before.candidates)
    told = _(
        "All {count} causes that were still possible give the same reading here, so it "
        "told nothing."
    ).format(count=count)
    if count == 2:
        told = _(
            "Both causes that were still possible give the same reading here, so it "
            "told nothing."
        )
    if count == 1:
        told = _(
            "The one cause that was still possible gives this reading anyway, so it "
            "told nothing."
        )
    if test.sorting == "drop" and test.outcome == "none":
        dead = _("Without current nothing drops.")
        return f"{told} {dead}", "drop_without_current"
    columns = chosen.record.reasoning.columns
    asked = columns[chosen.turn.number]
    if len(set(asked)) == 1:
        return told, "nothing_to_tell"
    for earlier in chosen.earlier:
        if _follows(columns[earlier.number], asked):
            before = _("“{test}” had told it before.").format(test=earlier.test.title)
            return f"{told} {before}", "same_thing_again"
    return told, "nothing_to_tell"


def _why_dear(chosen: _Choice) -> tuple[str, str]:
    """Say why a test that tells something wastes minutes all the same."""
    test, before = chosen.turn.test, chosen.turn.before.candidates
    column = chosen.record.reasoning.column(chosen.turn.number, before)
    count = len(before)
    stay = max(column.count(word) for word in set(column))
    split = _(
        "It may leave {stay} of the {count} causes that were still possible."
    ).format(stay=stay, count=count)
    if test.id == _PART_SWAP:
        early = _("A new part came before the proof.")
        return f"{early} {split}", "part_before_proof"
    cheaper = _cheapest_alike(chosen, column)
    if cheaper is not None:
        same = _("“{test}” would have told the same in {minutes}.")
        minutes = minutes_text(chosen.minutes(cheaper))
        return same.format(test=cheaper.title, minutes=minutes), "dear_for_cheap"
    if _is_worst(chosen):
        worst = _(
            "Of all tests on offer it splits the {count} causes that were still "
            "possible worst: it may leave {stay} of them."
        )
        return worst.format(count=count, stay=stay), "least_telling_first"
    return split, ""


def _cheapest_alike(chosen: _Choice, asked: Sequence[str]) -> TestKey | None:
    """Find the cheapest test that tells all that the chosen one tells."""
    before, minutes = chosen.turn.before, chosen.turn.minutes
    record, found = chosen.record, None
    for number in record.plan.helping(before):
        own = record.plan.minutes(before, number)
        if own < minutes and number not in chosen.way:
            column = record.reasoning.column(number, before.candidates)
            if _follows(column, asked):
                found, minutes = record.tests[number], own
    return found


def _is_worst(chosen: _Choice) -> bool:
    """Whether no test that tells anything leaves more causes, on average."""
    helping = chosen.record.plan.helping(chosen.turn.before)
    # Of two the worst is only the other one, which says nothing of how to choose.
    if len(helping) < 3:
        return False
    most = max(_left_on_average(chosen, number) for number in helping)
    return _left_on_average(chosen, chosen.turn.number) >= most - 1e-9


def _left_on_average(chosen: _Choice, number: int) -> float:
    """Tell how many causes a test leaves, by how likely each of its outcomes is."""
    reasoning, before = chosen.record.reasoning, chosen.turn.before.candidates
    column = reasoning.column(number, before)
    chance = [reasoning.faults[cause].prior for cause in before]
    left = [p * column.count(word) for p, word in zip(chance, column, strict=True)]
    return sum(left) / sum(chance)


def _misread(earlier: tuple[Visit, ...]) -> str:
    """Recall the last reading that was taken for another outcome than it shows."""
    for visit in reversed(earlier):
        said, read = visit.done.outcome, visit.test.outcome
        if said not in (None, read):
            judged = _(
                "This is judged from what “{test}” really read, “{read}”, not from "
                "your “{said}”."
            )
            words = {"test": visit.test.title, "read": _(read), "said": _(str(said))}
            return f" {judged.format(**words)}"
    return ""


def _hint_reason(hints: int) -> str:
    """Say what the hints for a choice cost; nothing where none was taken."""
    if not hints:
        return ""
    told = ngettext(
        "Minus {percent} % for the hint you took for this choice.",
        "Minus {percent} % for the {count} hints you took for this choice.",
        hints,
    )
    return f" {told.format(percent=round(100 * hint_cost(hints)), count=hints)}"


def _stop(work: Work) -> StepMark:
    """Judge when the student stopped; it weighs as much as the tests left out."""
    share, reason, misconception = 0.0, _("You drew no conclusion."), ""
    if work.progress.cause is not None:
        share, reason, misconception = _stop_judged(work.record, work.state)
    hints = work.progress.hints
    # Who stops early shall not save the marks of the tests that were due.
    weight = max(1.0, len(tests_to_proof(work.record, work.state)))
    return StepMark(
        item="stop",
        title=_("When to stop"),
        mark=weight * share * (1 - hint_cost(hints)),
        out_of=weight,
        reason=reason + (_hint_reason(hints) if share else ""),
        misconception=misconception,
        hints=hints,
    )


def _stop_judged(record: KeyRecord, state: State) -> tuple[float, str, str]:
    faults = [record.reasoning.faults[candidate] for candidate in state.candidates]
    labels = listed([record.label_of_fault(fault.id) for fault in faults])
    is_end = record.plan.best_test(state) is None
    if record.plan.is_settled(state) and not is_end:
        told = _(
            "You concluded before any reading had shown something abnormal: {causes} "
            "was what other readings had left, and nobody had seen it."
        )
        # No other cause fitted: only the proof is missing.
        return 0.0, told.format(causes=labels), ""
    if len(faults) == 1:
        return 1.0, _("You stopped when one cause was left and proved."), ""
    share, told, misconception = 1.0, "", ""
    if record.plan.is_settled(state):
        told = _(
            "You stopped when the {count} causes left all need the same repair: "
            "{causes}."
        )
    elif is_end:
        told = _(
            "You stopped when no test on offer tells the {count} causes left apart: "
            "{causes}."
        )
    else:
        share, misconception = 0.0, "named_before_proof"
        told = _("You concluded while {count} causes were still possible: {causes}.")
    return share, told.format(count=len(faults), causes=labels), misconception
