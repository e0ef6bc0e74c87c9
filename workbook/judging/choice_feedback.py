"""What a practice set says to the choice of a test; pure.

Grading says the same to the same choice, in its own words.
"""

from __future__ import annotations

from dataclasses import dataclass

from workbook.judging.feedback import Remark, Tone
from workbook.judging.planned import (
    Planner,
    Standing,
    all_causes,
    planner_of,
    possible_causes,
    shown_under,
    standing_after,
    title_with_minutes,
)
from workbook.record.payload import DiagnosticTest, Exercise, Feedback
from workbook.record.progress import TestDone, hint_cost
from workbook.texts import _, figure, ngettext

# A test that fits a new part to see whether it helps.
_PART_SWAP = "load_current_new_relay"


def judge_choice(
    exercise: Exercise, feedback: Feedback, tests: tuple[TestDone, ...]
) -> Remark:
    """Say how good the last choice was for the causes that were left before it."""
    known = feedback.tests[tests[-1].item]
    if known.is_too_near:
        return Remark(tone="news", label=_("Too near to tell."), text=known.text)
    if caution := known.caution:
        label = _("Done like this, it proves nothing.")
        return Remark(tone="caution", label=label, text=caution)
    by_id = {test.id: test for test in exercise.tests}
    standing = standing_after(exercise, feedback, tests[:-1])
    chosen = _Choice(
        planner=_planner(exercise, feedback, by_id[tests[-1].item], standing),
        test=by_id[tests[-1].item],
        earlier=tuple(by_id[done.item] for done in tests[:-1]),
        standing=standing,
    )
    tone, label, text = _judged(chosen)
    return Remark(tone=tone, label=label, text=text + _hints_taken(tests[-1].hints))


def _planner(
    exercise: Exercise, feedback: Feedback, test: DiagnosticTest, standing: Standing
) -> Planner:
    """Make the planner that a choice is judged by: one that helps is in its plan."""
    listed = planner_of(exercise, feedback)
    if not (test.is_own and listed.helps(standing, test)):
        return listed
    return planner_of(exercise, feedback, test.id)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Choice:
    """A test that was chosen, the tests before it and the causes they had left."""

    planner: Planner
    test: DiagnosticTest
    earlier: tuple[DiagnosticTest, ...]
    standing: Standing

    @property
    def before(self) -> frozenset[str]:
        """The causes that were left before it."""
        return self.standing.left

    def minutes(self, test: DiagnosticTest) -> float:
        """What a test would have taken in its place."""
        return self.planner.minutes(self.standing, test)

    def named(self, test: DiagnosticTest) -> str:
        """A test with these minutes."""
        return title_with_minutes(test, self.minutes(test))

    def shown(self, test: DiagnosticTest) -> list[str]:
        """Outcomes of a test under the causes before."""
        exercise, feedback = self.planner.exercise, self.planner.feedback
        return shown_under(exercise, feedback, test, self.before)

    def shown_by_all(self, test: DiagnosticTest) -> list[str]:
        """Outcomes of a test under all causes."""
        exercise, feedback = self.planner.exercise, self.planner.feedback
        everything = possible_causes(exercise, feedback, ())
        return shown_under(exercise, feedback, test, everything)


def _judged(chosen: _Choice) -> tuple[Tone, str, str]:
    """Give tone, label and text."""
    test, planner = chosen.test, chosen.planner
    if not chosen.earlier and planner.feedback.tests[test.id].is_complaint:
        text = _("You have seen for yourself what you are going to look for.")
        return "right", _("The complaint is verified."), text
    planned = planner.planned(chosen.standing)
    if planned is None:
        if _confirms(chosen):
            text = _("It shows once more, at its own part, what was proved already.")
            return "right", _("A test that confirms."), text
        proved = _nothing_to_choose(chosen)
        if planner.is_due(chosen.standing, test):
            return "right", _("A good choice by the house method."), proved
        took = _("This one took another {minutes} min.")
        text = f"{proved} {took.format(minutes=figure(chosen.minutes(test)))}"
        return "caution", _("No test was needed."), text
    better = chosen.named(planned)
    if not planner.helps(chosen.standing, test):
        more = _("{test} would have told more.").format(test=better)
        text = f"{_why_nothing(chosen)} {more}"
        return "caution", _("This test tells nothing more."), text
    lost = planner.wasted(chosen.standing, test)
    if not lost:
        text = _("No other test leads to the cause in fewer minutes.")
        return "right", _("A good choice."), text
    if planner.is_due(chosen.standing, test):
        less = _("{test} first would have taken {minutes} min less, on average.")
        text = less.format(test=f"“{planned.title}”", minutes=figure(lost))
        return "right", _("A good choice by the house method."), text
    why = _why_dear(chosen)
    more = (
        _("From here this way takes {minutes} min more, on average.")
        # The better test is named in the reason already.
        if better in why
        else _(
            "From here this way takes {minutes} min more, on average, than starting "
            "with {test}."
        )
    )
    text = f"{why} {more.format(minutes=figure(lost), test=better)}"
    return "caution", _("Another test was better."), text


def _confirms(chosen: _Choice) -> bool:
    """Tell whether a test shows something abnormal where what is left lies."""
    feedback, test = chosen.planner.feedback, chosen.test
    known = feedback.tests[test.id]
    lies = frozenset[str]().union(*(feedback.sections_of[c] for c in chosen.before))
    suspect = test.statement(known.proved_by[known.outcome]).suspect
    # What proves nothing suspects nothing, and confirms as little.
    is_own = bool(suspect) and lies.issuperset(suspect)
    return known.outcome != known.sound and is_own


def _nothing_to_choose(chosen: _Choice) -> str:
    """Say why the plan holds no test where the student stood."""
    left = chosen.before
    if len(left) == 1:
        return _("One cause is left: it is proved.")
    if chosen.planner.is_proved(chosen.standing):
        text = _("The {count} causes left all need the same repair.")
    else:
        text = _("No test on offer tells the {count} causes left apart.")
    return text.format(count=len(left))


def _why_nothing(chosen: _Choice) -> str:
    """Say why a test told nothing."""
    if len(chosen.before) == 1:
        told = _("The one cause that was still possible gives this reading anyway.")
    else:
        told = _("{all} that were still possible give the same reading here.").format(
            all=all_causes(len(chosen.before))
        )
    test = chosen.test
    shown = chosen.planner.feedback.tests[test.id]
    if shown.is_drop and shown.outcome == "none":
        dead = _("Without current nothing drops.")
        return f"{told} {dead}"
    asked = chosen.shown_by_all(test)
    # What reads the same under every cause tells nothing that another could have told.
    told_before = chosen.earlier if len(set(asked)) > 1 else ()
    for earlier in told_before:
        if _follows(chosen.shown_by_all(earlier), asked):
            before = _("“{test}” had told it before.").format(test=earlier.title)
            return f"{told} {before}"
    return told


def _why_dear(chosen: _Choice) -> str:
    """Say why a test that tells something takes more minutes in the end."""
    asked = chosen.shown(chosen.test)
    stay = max(asked.count(outcome) for outcome in set(asked))
    split = _(
        "It may leave {count} of the {total} causes that were still possible."
    ).format(count=stay, total=len(asked))
    if chosen.test.id == _PART_SWAP:
        too_early = _("A new part came before the proof.")
        return f"{too_early} {split}"
    alike = [
        test
        for test in chosen.planner.actions
        if test not in chosen.earlier
        and chosen.minutes(test) < chosen.minutes(chosen.test)
        and _follows(chosen.shown(test), asked)
    ]
    if alike:
        cheapest = min(alike, key=chosen.minutes)
        same = _("{test} would have told the same.")
        return same.format(test=chosen.named(cheapest))
    return split


def _follows(known: list[str], asked: list[str]) -> bool:
    """Tell whether the outcome of one test fixes that of another."""
    return len(set(zip(known, asked, strict=True))) == len(set(known))


def _hints_taken(hints: int) -> str:
    if not hints:
        return ""
    cost = ngettext(
        "The hint for it costs {cost} % of its mark.",
        "The {count} hints for it cost {cost} % of its mark.",
        hints,
    )
    return f" {cost.format(count=hints, cost=f'{100 * hint_cost(hints):.0f}')}"
