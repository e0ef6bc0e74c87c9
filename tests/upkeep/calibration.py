"""Fits the weights of the predicted difficulty to simulated novices.

``python -m tests.upkeep.calibration`` draws exercises of every lesson, lets
careful novices work each of them, and fits what they lose on average to the features
of the exercises: least squares with no weight below zero, since nothing that is
counted makes an exercise easier, and without a constant, so that an exercise with
nothing to do would cost nothing. It prints the weights for ``difficulty.py`` and how
much of the differences between exercises they explain.
"""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import astuple, dataclass, fields, replace

import numpy as np

from answer_keys.keys.whole_record import WholeRecord
from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.marking.rubric import rubric_from_text, rubric_text
from generator.drawing.class_radicals import new_radicals
from generator.drawing.course import Goal
from generator.drawing.difficulty import Features, features_of
from generator.drawing.exercise_draw import new_exercise
from generator.drawing.stream import Stream
from generator.errors import DrawError
from generator.invented.cohort import work
from generator.invented.kinds import invented_students
from generator.workbooks.key_records import key_record
from lessons.loader import lesson_ids, read_lesson
from workbook.record.progress import replay

_SECRET = bytes(32)
_EXERCISES, _NOVICES = 20, 60
_RUBRIC = rubric_from_text(rubric_text())
_IDENTITY = {"set_id": "calibration", "student": "s01"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """Exercises to calibrate on: their features, and what works and grades them."""

    features: tuple[Features, ...]
    records: tuple[WholeRecord, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """Weights in the order of the features, and how well they fit.

    ``explained_frac`` is the share of the variance of the losses between exercises
    that the weights explain (R²).
    """

    weights: tuple[float, ...]
    explained_frac: float


def new_sample(label: str, count: int) -> Sample:
    """Draw as many exercises of each lesson."""
    features, records = [], []
    for name in lesson_ids():
        book = read_lesson(name)
        radicals = new_radicals(
            (Goal(book=book),) * count, Stream(_SECRET, label, name)
        )
        for number, radical in enumerate(radicals, start=1):
            diagnosis = replace(radical, kind="diagnosis")
            try:
                made = new_exercise(book, diagnosis, _SECRET, (label, name, number))
            except DrawError:  # a set would take another fault, and so do we
                continue
            features.append(features_of(made))
            records.append(key_record(made, 1, {**_IDENTITY, "lesson": name}))
    return Sample(features=tuple(features), records=tuple(records))


def losses_of(sample: Sample, kind: str, count: int, stream: Stream) -> list[float]:
    """Mean loss of marks of so many students of a kind in each exercise [%]."""
    losses = []
    for record in sample.records:
        marks = [
            grade_exercise(record, replay(work(record, student, stream))[1], _RUBRIC)
            for student in invented_students(["s01"] * count, [kind], stream)
        ]
        losses.append(100 * (1 - statistics.fmean(m.mark / m.out_of for m in marks)))
    return losses


def fit(features: Sequence[Features], losses: Sequence[float]) -> Fit:
    """Fit weights to losses [%]."""
    from scipy.optimize import nnls  # takes a second to load, in every process of a run

    counted = np.array([astuple(each) for each in features])
    wanted = np.array(losses)
    weights, _ = nnls(counted, wanted)
    left = wanted - counted @ weights
    return Fit(
        weights=tuple(weights.tolist()),
        explained_frac=1 - float(left.var() / wanted.var()),
    )


def main() -> None:
    """Print the weights, and the fit on the exercises used and on others."""
    stream = Stream(_SECRET, "calibration", "novices")
    sample, others = (new_sample(label, _EXERCISES) for label in ("fit", "check"))
    found = fit(sample.features, losses_of(sample, "novice", _NOVICES, stream))
    names = [each.name for each in fields(Features)]
    for name, weight in zip(names, found.weights, strict=True):
        print(f"{name:<18} {weight:.2f}")  # noqa: T201 - what the command is for
    counted = np.array([astuple(each) for each in others.features])
    wanted = np.array(losses_of(others, "novice", _NOVICES, stream))
    left = wanted - counted @ np.array(found.weights)
    outside = 1 - float((left**2).mean() / wanted.var())
    print(  # noqa: T201 - what the command is for
        f"R² {found.explained_frac:.2f}, on other exercises {outside:.2f}; "
        f"{len(wanted)} exercises, {_NOVICES} novices each, mean loss "
        f"{wanted.mean():.1f} %"
    )


if __name__ == "__main__":
    main()
