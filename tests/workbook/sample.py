"""A small workbook, written by hand: a fan circuit whose coil return is open."""

import json

from workbook.record.sealed import seal

SET_ID = "sample-set"
STUDENT = "s01"
HEADER = f"{SET_ID}-{STUDENT}"

COIL_JUDGEMENT = {
    "low": 0.14,
    "high": 0.157,
    "right": "12.6 V across 85 Ω of coil drives 148 mA.",
    "wrong": "Ohm's law: battery voltage divided by the coil's resistance.",
    "misconceptions": [
        {
            "low": 1050.0,
            "high": 1100.0,
            "text": "You multiplied 12.6 V by 85 Ω. Current is voltage divided by "
            "resistance.",
        }
    ],
}
LOAD_JUDGEMENT = {
    "low": 11.4,
    "high": 13.0,
    "right": "The specification gives 12.2 A for the fan at 12.6 V.",
    "wrong": "Take the fan's current from the specification sheet.",
    "misconceptions": [],
}
CAUSES = (
    "Control fuse open",
    "Relay coil open",
    "Coil return wire open",
    "Control module does not switch",
    "Load fuse open",
    "Relay contacts open",
    "Fan motor open",
    "Fan motor seized",
)
CORRECTIONS = (
    "Replace the control fuse after finding why it blew",
    "Replace the relay",
    "Repair the coil return wire",
    "Repair the module's ground",
    "Replace the fan motor",
)
# id, title, how, minutes, hazards, outcomes, display, instrument, sound, fits
TESTS = (
    (
        "control_current",
        "Control current at its fuse, relay commanded on",
        "Put the clamp around a fused lead in place of the control fuse and command "
        "the relay on with the scan tool.",
        5,
        (),
        ("none", "low", "expected", "high"),
        "0.0 mV",
        "clamp on the 100 mV/A scale, meter on mV",
        "expected",
        ("c01", "c02", "c03", "c04"),
    ),
    (
        "load_current",
        "Load current at its fuse, relay commanded on",
        "Put the clamp around a fused lead in place of the load fuse and command the "
        "relay on.",
        5,
        ("The fan may start at any moment: keep hands, sleeves and leads away.",),
        ("none", "low", "expected", "high"),
        "0.0 mV",
        "clamp on the 10 mV/A scale, meter on mV",
        "expected",
        ("c01", "c02", "c03", "c04", "c05", "c06", "c07"),
    ),
    (
        "load_current_bridged",
        "Load current with terminals 30 and 87 bridged",
        "Take the relay out, bridge 30 and 87 of its socket with a fused jumper and "
        "clamp the load fuse's lead.",
        8,
        (
            "The jumper's fuse is never larger than the circuit's fuse. Never bridge "
            "the load.",
            "The fan starts at once: keep hands, sleeves and leads away.",
        ),
        ("none", "low", "expected", "high"),
        "122.4 mV",
        "clamp on the 10 mV/A scale, meter on mV",
        "expected",
        ("c01", "c02", "c03", "c04", "c06"),
    ),
    (
        "coil_resistance",
        "Coil resistance, relay out of its socket",
        "Take the relay out and measure between 86 and 85.",
        6,
        (),
        ("none", "low", "expected", "over limit"),
        "84.7 Ω",
        "meter on Ω, 200 Ω range",
        "expected",
        ("c01", "c03", "c04", "c05", "c06", "c07", "c08"),
    ),
    (
        "voltage_85",
        "Voltage at 85, relay commanded on",
        "Back-probe terminal 85 with the relay in its socket.",
        7,
        ("Turn-off of the coil makes spikes of hundreds of volts.",),
        ("none", "low", "supply voltage"),
        "12.58 V",
        "meter on V DC, 20 V range",
        "low",
        ("c03", "c04"),
    ),
    (
        "voltage_module",
        "Voltage at the module's driver pin, relay commanded on",
        "Back-probe the driver pin of the control module's connector.",
        12,
        (),
        ("none", "low", "supply voltage"),
        "0.01 V",
        "meter on V DC, 20 V range",
        "low",
        ("c02", "c03"),
    ),
)
# By test one letter a cause: which of the test's words it would read.
OUTCOMES = {
    "control_current": "aaaacccc",
    "load_current": "aaaaaaad",
    "load_current_bridged": "ccccacad",
    "coil_resistance": "cdcccccc",
    "voltage_85": "aaccbbbb",
    "voltage_module": "baacbbbb",
}
# The relay cures c02 and c06, the motor c07 and c08; all causes are as likely.
REPAIRS = (0, 1, 2, 3, 4, 1, 5, 5)
# Where the causes lie, one section a cause, along the current's path.
SECTIONS = (
    ("control_fuse", "control fuse", "control circuit"),
    ("coil", "relay coil", "control circuit"),
    ("control_return", "coil return wire", "control circuit"),
    ("module", "control module", "control circuit"),
    ("load_fuse", "load fuse", "load circuit"),
    ("contacts", "relay contacts", "load circuit"),
    ("load", "fan motor", "load circuit"),
    ("mechanism", "fan", "load circuit"),
)
WRONG_RULE = "The reading says where the fault is, not where it is not."
RIGHT, REVERSED, NOTHING = "s1", "s2", "s3"
SHOWN = {"12.58 V": "supply voltage", "0.0 mV": "none", "0.01 V": "none"}


def statements(test):
    """Statements of one of `TESTS`: the right one, its reverse, and that none holds."""
    places = {f"c{n:02}": section[0] for n, section in enumerate(SECTIONS, 1)}
    fits = [where for cause, where in places.items() if cause in test[9]]
    others = [where for where in places.values() if where not in fits]
    said = ((RIGHT, others, fits), (REVERSED, fits, others), (NOTHING, [], []))
    return [
        {"id": id_, "text": _said(suspect), "cleared": cleared, "suspect": suspect}
        for id_, cleared, suspect in said
    ]


def text_of(test, statement):
    """The text of a statement of one test, by their ids."""
    row = next(row for row in TESTS if row[0] == test)
    return next(s["text"] for s in statements(row) if s["id"] == statement)


def _said(suspect):
    labels = [label for id_, label, _ in SECTIONS if id_ in suspect]
    return f"Still suspect: {', '.join(labels) or 'as before'}"


def exercise(number, *, has_feedback=True):
    """One exercise as the sealed text holds it."""
    keys = ("id", "title", "how", "minutes", "hazards", "outcomes", "display")
    return {
        "number": number,
        "title": f"Groomer {number}: cooling fan does not run",
        "predictions": [
            {
                "id": "coil_current",
                "label": "Control current with the relay commanded on",
                "unit": "A",
                "help": "From the coil's resistance and 12.6 V.",
            },
            {
                "id": "load_current",
                "label": "Load current with the fan running",
                "unit": "A",
                "help": "",
            },
        ],
        "sections": [
            dict(zip(("id", "label", "branch"), section, strict=True))
            for section in SECTIONS
        ],
        "tests": [
            {
                **dict(zip(keys, test, strict=False)),
                "before": f"All is ready for: {test[1]}.",
                "instrument": test[7],
                "needs": [],
                "statements": statements(test),
            }
            for test in TESTS
        ],
        "causes": _choices("c", CAUSES),
        "corrections": _choices("r", CORRECTIONS),
        "verification": {
            "id": "load_current_after_repair",
            "label": "What will the clamp read on its 10 mV/A scale after the repair?",
            "unit": "V",
            "help": "Load current, relay commanded on.",
        },
        "feedback": _feedback() if has_feedback else None,
    }


def payload(count=2):
    """Odd exercises with feedback as in a practice set, even ones without."""
    exercises = [
        exercise(number, has_feedback=number % 2 == 1) for number in range(1, count + 1)
    ]
    return {"format": 1, "exercises": exercises}


def write_workbook(folder, *, student=STUDENT, sealed=None, count=2, language="en"):
    """Write the sample notebook and return its path."""
    metadata = {
        "kernelspec": {
            "name": "python3",
            "display_name": "Python 3",
            "language": "python",
        },
        "clampbook": {
            "format": 1,
            "set_id": SET_ID,
            "student": student,
            "edition": 1,
            "mode": "practice",
            "language": language,
            "title": "Relay circuits",
            "sealed": seal(payload(count)) if sealed is None else sealed,
        },
    }
    cells = [cell for number in range(1, count + 1) for cell in _cells(number)]
    notebook = {
        "nbformat": 4,
        "nbformat_minor": 5,
        "metadata": metadata,
        "cells": cells,
    }
    path = folder / f"clampbook-{SET_ID}-{student}.ipynb"
    path.write_text(json.dumps(notebook, indent=1), encoding="utf-8")
    return path


def _cells(number):
    return [
        {
            "id": f"p{number:02}-intro",
            "cell_type": "markdown",
            "metadata": {},
            "source": f"## Exercise {number}\n\nThe cooling fan does not run.",
        },
        {
            "id": f"p{number:02}-form",
            "cell_type": "code",
            "metadata": {
                "editable": False,
                "deletable": False,
                "jupyter": {"source_hidden": True},
            },
            "source": f"import workbook; workbook.exercise({number})",
            "execution_count": None,
            "outputs": [],
        },
    ]


def _choices(letter, labels):
    return [
        {"id": f"{letter}{place:02}", "label": label}
        for place, label in enumerate(labels, 1)
    ]


def _feedback():
    tests = {
        test[0]: {
            "sound": test[8],
            "is_drop": False,
            "sound_text": "The circuit is complete, so the specified value appears.",
            "outcome": SHOWN.get(test[6], "expected"),
            "text": f"{test[6]} here separates the causes before and after this point.",
            "caution": "",
            "fits": list(test[9]),
            "proved_by": {test[8]: REVERSED, SHOWN.get(test[6], "expected"): RIGHT},
            "misconceptions": {REVERSED: WRONG_RULE},
        }
        for test in TESTS
    }
    return {
        "predictions": {"coil_current": COIL_JUDGEMENT, "load_current": LOAD_JUDGEMENT},
        "verification": {**LOAD_JUDGEMENT, "low": 0.114, "high": 0.13},
        "tests": tests,
        "conclusion": {
            "causes": ["c03"],
            "correction": "r03",
            "right": "Supply voltage at 85 and none at the module: the wire is open.",
            "wrong_cause": "It does not fit all your readings.",
            "wrong_correction": "It would leave the open wire as it is.",
            "unproved": "Other causes still fit the tests you did.",
        },
        "plan": {
            "sides": {
                f"c{place:02}": f"in the {'control' if place < 5 else 'load'} circuit"
                for place in range(1, 9)
            },
            "outcomes": OUTCOMES,
            "chances": {f"c{n:02}": 1.0 for n in range(1, 9)},
            "repairs": {f"c{n:02}": of for n, of in enumerate(REPAIRS, 1)},
            "trial_min": {str(of): 30.0 for of in REPAIRS},
            "harmless": [],
            "method": {},
        },
        "sections_of": {
            f"c{n:02}": [section[0]] for n, section in enumerate(SECTIONS, 1)
        },
    }
