"""Statements judged by a validator of xAPI 1.0 that is not ours.

It is the package xapi-validation of the Learning Locker project (licence MIT), fetched
once by npm, for tests alone. No published schema of xAPI 2.0 could be opened.
"""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from generator.errors import SiteError
from generator.site.tools import cache_folder, once, run
from tests.absent import stop
from tests.answer_keys.interchange.classes import HOSTILE, class_of, graded, step
from tests.answer_keys.interchange.classes import student as student_of
from tests.answer_keys.interchange.test_xapi import CLASS, GRADED_AT, statements

PACKAGE = "@learninglocker/xapi-validation@3.0.0"
SCRIPT = Path(__file__).with_name("validator.cjs")


def fetch(draft):
    """Install the validator with what it needs; nothing of it is run by that."""
    options = ("--ignore-scripts", "--no-audit", "--no-fund", "--prefix", draft)
    run(["npm", "install", *options, PACKAGE], draft, f"Fetching {PACKAGE} with npm")
    shutil.copy(SCRIPT, draft)


@pytest.fixture(scope="module")
def faults():
    """Give what is wrong with each of some statements."""
    try:
        folder = once(cache_folder() / "xapi_validation-3.0.0", fetch)
    except SiteError as error:
        stop(f"the validator cannot be fetched: {error}")

    def judged(some):
        lines = "\n".join(map(json.dumps, some))
        command = ["node", folder / SCRIPT.name]
        done = subprocess.run(
            command, input=lines, capture_output=True, text=True, check=True
        )
        return [json.loads(line) for line in done.stdout.splitlines()]

    return judged


@pytest.mark.parametrize("has_names", [False, True])
def test_validator_finds_no_fault(faults, has_names):
    """Set, exercise with its time, choices, answers, and names that are hostile."""
    exercise = graded(step(answer=HOSTILE[4]), span=(GRADED_AT, GRADED_AT))
    hostile = class_of(student_of("s01", HOSTILE[5], exercise))
    made = [
        one
        for each in (CLASS, hostile)
        for one in statements(each, has_names=has_names)
    ]
    assert len(made) == 8
    assert faults(made) == [[]] * 8


@pytest.mark.parametrize(
    ("place", "wrong"),
    [
        (("id",), "s01"),
        (("actor", "mbox"), "mailto:mira@school.example"),
        (("verb", "id"), "scored"),
        (("object", "id"), "exercise 1"),
        (("object", "definition", "interactionType"), "relay"),
        (("result", "score", "scaled"), 1.5),
        (("result", "duration"), "1 h"),
        (("timestamp",), "yesterday"),
        (("context", "registration"), "none"),
        (("grade",), 5),
    ],
)
def test_validator_finds_what_is_wrong(faults, place, wrong):
    """Each requirement is judged: a statement that breaks it has a fault."""
    *_, one = statements(class_of(student_of("s01", "A", graded(step()))))
    at = one
    for name in place[:-1]:
        at = at[name]
    at[place[-1]] = wrong
    assert faults([one]) != [[]]
