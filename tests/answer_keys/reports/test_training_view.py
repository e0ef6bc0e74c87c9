"""What many classes tell, from diagnoses made up with what is to be found in them."""

from random import Random

import pytest

from answer_keys.reports.evidence import Diagnosis, Evidence, Finding, Shown
from answer_keys.reports.training import training_figures, training_report
from answer_keys.reports.training_view import training_view

FAULTS = ("coil_open", "contacts_open", "load_open", "load_fuse_open")
FAMILIES = ("radiator-fan", "fuel-pump", "horn")
TESTS = ("control_current", "load_current", "look_load_fuse")
# Percent of the marks, beyond what was predicted.
HARD_FAULT = dict(zip(FAULTS, (9.0, 3.0, -3.0, -9.0), strict=True))
HARD_TEST = dict(zip(TESTS, (20.0, 0.0, -20.0), strict=True))
# The only pair whose causes are seldom named.
UNEQUAL = ("coil_open", "horn")


def diagnosis(chance, student, fault, able):
    family = chance.choice(FAMILIES)
    is_hard = (fault, family) == UNEQUAL
    return Diagnosis(
        student=student,
        lesson="mixed-diagnosis",
        fault=fault,
        cause=fault,
        family=family,
        planned=(),
        predicted_percent=15.0,
        lost_percent=15 + HARD_FAULT[fault] + able + chance.gauss(0, 8),
        is_right=chance.random() < (0.2 if is_hard else 0.8),
    )


def new_class(number, size=24):
    """A class in which each student met each fault once."""
    chance = Random(number)
    diagnoses, findings = [], []
    for student in range(size):
        able = chance.gauss(0, 5)
        diagnoses += [diagnosis(chance, student, f, able) for f in FAULTS]
        findings += [
            Finding(
                student=student,
                test=test,
                title=test,
                lost_percent=40 + HARD_TEST[test] + able + chance.gauss(0, 10),
            )
            for test in TESTS
        ]
    return Evidence(
        set_id=f"set{number}",
        name=f"Workshop <{number}>",
        students=size + 1,
        graded=size,
        mean_percent=80.0,
        needs_help=3,
        diagnoses=tuple(diagnoses),
        findings=tuple(findings),
        misconceptions={
            ("mixed-diagnosis", "scale_too_coarse"): Shown(shown=6, chances=20),
            ("mixed-diagnosis", "blames_relay"): Shown(shown=0, chances=20),
        },
        held={"scale_too_coarse": 2},
    )


@pytest.fixture(scope="module")
def view():
    return training_view([new_class(number) for number in range(8)])


def test_planted_difficulties_are_found(view):
    """Faults and tests in their order, each within its interval."""
    assert [one.id for one in view.faults] == list(FAULTS)
    for one in view.faults:
        assert one.beyond.low < HARD_FAULT[one.id] < one.beyond.high
        assert one.lost.value == pytest.approx(15 + HARD_FAULT[one.id], abs=3)
        assert (one.count, one.classes, one.is_sure) == (8 * 24, 8, True)
    assert [one.id for one in view.tests] == list(TESTS)
    assert not any(one.is_sure for one in view.families)


def test_planted_pair_is_the_most_unequal(view):
    """A fault that one load makes hard is named with that load, the worst first.

    Its other loads then are easier than those that they are compared with.
    """
    one, *others = view.unequal[: len(FAMILIES)]
    assert one.title == "The coil of the relay is open"
    assert one.family == "horn"
    assert one.is_unequal
    assert one.odds.ratio.value < 0.3
    assert {each.title for each in others} == {one.title}
    assert all(each.odds.delta > 0 for each in others)
    alike = [each for each in view.unequal if not (each.is_unequal or each.is_slight)]
    assert len(alike) >= len(FAULTS) * len(FAMILIES) - len(FAMILIES) - 1
    assert len(view.unequal) == len(FAULTS) * len(FAMILIES)


def test_what_was_observed_is_what_the_draw_takes(view):
    """Points beyond the prediction; those of tests by what findings carry."""
    observed = view.observed
    assert observed.after == tuple(f"set{number}" for number in range(8))
    assert observed.faults["coil_open"] == pytest.approx(9, abs=2)
    assert observed.tests["control_current"] == pytest.approx(20 * 0.2, abs=1)
    assert all(value == round(value, 2) for value in observed.faults.values())


def test_few_diagnoses_tell_nothing():
    """A class of three is no ground for a table."""
    view = training_view([new_class(1, size=3)])
    assert (view.faults, view.tests, view.unequal) == ((), (), ())
    assert view.observed.after == ()
    assert "Not enough data" in training_report(view)


def test_misconceptions_are_told_by_lesson(view):
    """What was never shown is left out; shares are over all classes."""
    (one,) = view.misconceptions
    assert (one.shown, one.chances, one.classes) == (48, 160, 8)
    assert one.share.low < 0.3 < one.share.high
    page = training_report(view)
    assert "16 students do so again and again, in 8 classes" in page


def test_page_says_what_the_figures_say(view):
    """Numbers and verdicts; what a class is called is no markup."""
    page = training_report(view)
    hard = view.faults[0].lost.value
    assert (
        f"{hard:.0f} % of the marks lost".replace(" %", "\N{NO-BREAK SPACE}%") in page
    )
    assert "much harder" in page
    assert "Workshop &lt;3&gt;" in page
    figures = training_figures(view)
    assert [one["set_id"] for one in figures["classes"]] == [
        one.evidence.set_id for one in view.classes
    ]
    assert figures["faults"][0]["is_sure"]
