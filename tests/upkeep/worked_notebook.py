"""A lesson's worked example as a notebook for the instructor: run, changed, run again.

Its numbers are the outputs of its cells. The notebooks of our lessons are kept beside
their texts, executed; run this module to write them again.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lessons.loader import LESSONS_FOLDER, LessonBook, lesson_ids, read_lesson
from lessons.schema import Example

if TYPE_CHECKING:
    from nbformat import NotebookNode


_OPEN = """\
import matplotlib.pyplot as plt
import pint

from generator.model.solving import solve
from generator.workbooks.lesson_text import new_examples
from lessons.loader import read_lesson

units = pint.UnitRegistry()
book = read_lesson("{lesson}")
names = [each.name for each in book.lesson.examples]
examples = dict(zip(names, new_examples(book, book.lesson.examples)))
print(*examples)"""

_COMPLAINT = """\
machine = examples["{name}"]
print(machine.complaint)
print(machine.causes, "causes can bring this complaint")"""

_BY_HAND = """\
supply = machine.circuit.supply_v * units.volt
coil = machine.circuit.coil_ohm * units.ohm
beside = machine.circuit.suppression_ohm * units.ohm
for part, ohms in (("coil", coil), ("suppression", beside)):
    print(f"{part}: {(supply / ohms).to('mA'):.3g~P}")
print("the model:", machine.expected("control_current"))
print("a sound circuit reads", machine.band("control_current"))"""

_BY_HAND_OF_SWITCH = """\
rated = machine.circuit.load_rated_a * units.ampere
by_hand = rated * machine.circuit.supply_v / machine.circuit.rated_v
print(f"load: {by_hand:.3g~P}; the switch shuts off above "
      f"{machine.circuit.shut_off_a:g} A")
print("the model:", machine.expected("load_current"))
print("a sound circuit reads", machine.band("load_current"))"""

_VOLTAGES = """\
sound = solve(machine.exercise.sound_network)
for node, volts in sound.voltage_v.items():
    print(f"{node:<18} {round(volts, 3) + 0.0:8.3f} V")"""

_READINGS = """\
for test in machine.exercise.tests:
    print(f"{machine.title(test.id)}: {machine.reading(test.id)}, "
          f"{machine.outcome(test.id)} (sound: {machine.sound_outcome(test.id)})")"""

_DROPS = """\
drops = [(test.measure.target, reading.value)
         for test, reading in zip(machine.exercise.tests, machine.exercise.readings)
         if test.sorting == "drop"]
places, volts = zip(*reversed(drops))
fig, axis = plt.subplots(figsize=(7, 3), layout="constrained")
axis.barh(places, volts, color="0.8", edgecolor="black", hatch="//")
axis.set(xlabel="voltage drop under an output test / V",
         title="Where this machine's voltage is left")
plt.show()"""

_HALVES = """\
for step in machine.by_halves.steps:
    print(f"{step.point} to ground: {step.display}; "
          f"open between {step.start} and {step.end}")"""

_PATH = """\
for step in machine.path:
    print(f"{step.title} ({step.minutes:g} min): {step.display}, {step.outcome}; "
          f"causes left: {step.left}")
print("Cause:", machine.cause)
print("Correction:", machine.correction)"""


def notebook_file(lesson_id: str) -> Path:
    """Where the worked example of one of our lessons is kept."""
    return LESSONS_FOLDER / lesson_id / "worked-example.ipynb"


def worked_notebook(book: LessonBook) -> NotebookNode:
    """Write the worked examples of a lesson as a notebook that was not run yet."""
    import nbformat

    cells = [
        {**_cell(kind, source), "id": f"{kind}-{number:02}"}
        for number, (kind, source) in enumerate(_cells(book), start=1)
    ]
    kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
    document = {
        "cells": cells,
        "metadata": {"kernelspec": kernel, "language_info": {"name": "python"}},
        "nbformat": 4,
        "nbformat_minor": 5,
    }
    return nbformat.from_dict(document)


def _cell(kind: str, source: str) -> dict[str, Any]:
    own: dict[str, Any] = {}
    if kind == "code":
        own = {"execution_count": None, "outputs": []}
    return {"cell_type": kind, "metadata": {}, "source": source, **own}


def _cells(book: LessonBook) -> Iterator[tuple[str, str]]:
    """Kind and source of each cell."""
    lesson = book.lesson
    yield (
        "markdown",
        f"# Worked example: {lesson.title}\n\nThe circuits that the text of this "
        "lesson talks about, solved step by step. Change a value and run again.",
    )
    yield "code", _OPEN.format(lesson=lesson.id)
    for example in lesson.examples:
        yield "markdown", f"## Machine `{example.name}`"
        yield "code", _COMPLAINT.format(name=example.name)
        yield from _by_hand(example)
        yield "markdown", "Every voltage of the sound circuit, commanded on."
        yield "code", _VOLTAGES
        yield "markdown", "What each test reads on this machine."
        yield "code", _READINGS
        yield "code", _DROPS
        if f"{example.name}.by_halves" in book.text:
            yield "markdown", "Where it is open, half way each time."
            yield "code", _HALVES
        yield "markdown", "The way to the cause in the least expected minutes."
        yield "code", _PATH


def _by_hand(example: Example) -> Iterator[tuple[str, str]]:
    """Reckon the current that the student predicts first."""
    if example.variant.switch == "smart":
        yield "markdown", "What the load should draw, by hand."
        yield "code", _BY_HAND_OF_SWITCH
    else:
        yield "markdown", "What the control circuit should draw, by hand."
        yield "code", _BY_HAND


def write_worked_notebook(path: Path, book: LessonBook) -> None:
    """Execute the worked examples of a lesson and write them with their outputs."""
    import nbformat
    from nbclient import NotebookClient

    notebook = worked_notebook(book)
    NotebookClient(notebook, record_timing=False).execute()
    path.write_text(f"{nbformat.writes(notebook)}\n", encoding="utf-8", newline="\n")


def main() -> None:
    """Write the worked examples of all our lessons again."""
    for lesson_id in lesson_ids():
        write_worked_notebook(notebook_file(lesson_id), read_lesson(lesson_id))


if __name__ == "__main__":
    main()
