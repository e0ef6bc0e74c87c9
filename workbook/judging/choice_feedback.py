"""What a practice set says to the choice of a test; pure.

Grading says the same to the same choice, in its own words.
"""

from __future__ import annotations

from dataclasses import dataclass

from workbook.judging.feedback import Remark, Tone
from workbook.judging.planned import (
    NextTests,
    all_causes,
    is_proved,
    next_tests,
    possible_causes,
    shown_under,
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
    if caution := feedback.tests[tests[-1].item].caution:
        label = _("Done like this, it proves nothing.")
        return Remark(tone="caution", label=label, text=caution)
    by_id = {test.id: test for test in exercise.tests}
    chosen = _Choice(
        exercise=exercise,
        feedback=feedback,
        test=by_id[tests[-1].item],
        earlier=tuple(by_id[done.item] for done in tests[:-1]),
        before=possible_causes(exercise, feedback, tests[:-1]),
    )
    tone, label, text = _judged(chosen, next_tests(exercise, feedback, chosen.before))
    return Remark(tone=tone, label=label, text=text + _hints_taken(tests[-1].hints))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Choice:
    """A test that was chosen, the tests before it and the causes they had left."""

    exercise: Exercise
    feedback: Feedback
    test: DiagnosticTest
    earlier: tuple[DiagnosticTest, ...]
    before: frozenset[str]

    def shown(self, test: DiagnosticTest) -> list[str]:
        """Outcomes of a test under the causes before."""
        return shown_under(self.exercise, self.feedback, test, self.before)

    def shown_by_all(self, test: DiagnosticTest) -> list[str]:
        """Outcomes of a test under all causes."""
        everything = possible_causes(self.exercise, self.feedback, ())
        return shown_under(self.exercise, self.feedback, test, everything)


def _judged(chosen: _Choice, choices: NextTests | None) -> tuple[Tone, str, str]:
    """Give tone, label and text."""
    test = chosen.test
    if choices is None:
        proved = _nothing_to_choose(chosen.feedback, chosen.before)
        took = _("This one took another {minutes} min.")
        text = f"{proved} {took.format(minutes=figure(test.minutes))}"
        return "caution", _("No test was needed."), text
    better = title_with_minutes(choices.planned)
    if test.id not in choices.wasted_min:
        more = _("{test} would have told more.").format(test=better)
        text = f"{_why_nothing(chosen)} {more}"
        return "caution", _("This test tells nothing more."), text
    lost = choices.wasted_min[test.id]
    if not lost:
        text = _("No other test leads to the cause in fewer minutes.")
        return "right", _("A good choice."), text
    why = _why_dear(chosen)
    more = (
        _("From here this way takes {minutes} min more, on average.")
        if better in why
        else _(
            "From here this way takes {minutes} min more, on average, than starting "
            "with {test}."
        )
    )
    text = f"{why} {more.format(minutes=figure(lost), test=better)}"
    return "caution", _("Another test was better."), text


def _nothing_to_choose(feedback: Feedback, left: frozenset[str]) -> str:
    """Say why the plan holds no test for a set of causes."""
    if len(left) == 1:
        return _("One cause is left: it is proved.")
    if is_proved(feedback, left):
        text = _("The {count} causes left all need the same repair.")
    else:
        text = _("No test on offer tells the {count} causes left apart.")
    return text.format(count=len(left))


def _why_nothing(chosen: _Choice) -> str:
    """Say why a test told nothing."""
    test = chosen.test
    all_ = all_causes(len(chosen.before))
    shown = chosen.feedback.tests[test.id]
    if shown.is_drop and shown.outcome == "none":
        text = _(
            "{all} that were still possible give the same reading here, since without "
            "current nothing drops."
        )
        return text.format(all=all_)
    asked = chosen.shown_by_all(test)
    for earlier in chosen.earlier:
        if _follows(chosen.shown_by_all(earlier), asked):
            text = _(
                "{all} that were still possible give the same reading here: “{test}” "
                "had told it before."
            )
            return text.format(all=all_, test=earlier.title)
    text = _("{all} that were still possible give the same reading here.")
    return text.format(all=all_)


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
        for test in chosen.exercise.tests
        if test.minutes < chosen.test.minutes and _follows(chosen.shown(test), asked)
    ]
    if alike:
        cheapest = min(alike, key=lambda test: test.minutes)
        same = _("{test} would have told the same.")
        return same.format(test=title_with_minutes(cheapest))
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
