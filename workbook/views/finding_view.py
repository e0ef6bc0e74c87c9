"""Describe how a finding is asked for, and the circuit as stated so far; pure."""

from __future__ import annotations

from typing import Any

from workbook.judging.statements import StatedCircuit, circuit_as_stated
from workbook.record.payload import DiagnosticTest, Exercise
from workbook.record.progress import ExerciseProgress
from workbook.texts import _, capital
from workbook.views.choice_view import expected_options

Part = dict[str, Any]


def finding_form(test: DiagnosticTest) -> Part:
    """Ask what a reading shows, and what it proves."""
    return {
        "kind": "form",
        "key": f"finding:{test.id}",
        "action": "finding",
        "item": test.id,
        "legend": _("Your finding"),
        "help": _(
            "That nothing can be told takes no marks away; a statement that clears or "
            "suspects wrongly takes half a mark off your other statements."
        ),
        "submit": _("Record finding"),
        "fields": [
            {
                "kind": "radios",
                "name": "outcome",
                "label": _("What does the reading show?"),
                "options": expected_options(test),
            },
            {
                "kind": "radios",
                "name": "statement",
                "label": _("What does it prove by itself?"),
                "is_list": True,
                "options": [
                    {"value": each.id, "label": each.text} for each in test.statements
                ],
            },
        ],
    }


def circuit_part(exercise: Exercise, progress: ExerciseProgress) -> Part | None:
    """Draw the circuit, section by section, as the student has stated it."""
    now = stated_circuit(exercise, progress)
    if now is None:
        return None
    rows = [
        {
            "label": capital(_(branch)),
            "sections": [
                {"label": section.label, "state": state, "state_text": _(state)}
                for section in exercise.sections
                for state in (now.states[section.id],)
                if section.branch == branch
            ],
        }
        for branch in dict.fromkeys(section.branch for section in exercise.sections)
    ]
    return {
        "kind": "circuit",
        "key": "circuit",
        "caption": _("The circuit as stated so far"),
        "rows": rows,
        "remarks": [_contradiction()] if now.is_contradicted else [],
    }


def _contradiction() -> Part:
    return {
        "tone": "caution",
        "label": _("Look again."),
        "text": _(
            "Your last statement suspects only what you had cleared before. One of the "
            "two cannot hold."
        ),
    }


def stated_circuit(
    exercise: Exercise, progress: ExerciseProgress
) -> StatedCircuit | None:
    """Fold what was stated so far into a picture of the circuit; None for nothing."""
    stated = [
        exercise.test(done.item).statement(done.statement)
        for done in progress.tests
        if done.statement
    ]
    if not stated:
        return None
    return circuit_as_stated((section.id for section in exercise.sections), stated)
