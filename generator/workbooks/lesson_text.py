"""A lesson's text for the reader: its template filled with what the model computes.

Nobody types a result into a lesson. The text asks the lesson's examples for every
number, so that it stays right whatever changes in the model.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from jinja2 import StrictUndefined, TemplateError
from jinja2.sandbox import SandboxedEnvironment

from answer_keys.errors import Problem
from generator.drawing.exercise import Exercise
from generator.drawing.exercise_draw import Wanted, new_exercises
from generator.drawing.nominal import BATTERY_V
from generator.drawing.radical import Radical
from generator.drawing.wording import short_text
from generator.errors import DrawError
from generator.model.diagnostics import NO_CURRENT_FRAC
from generator.model.instruments import CLAMP_10, CLAMP_100
from generator.model.scales import DROP_LIMITS_V, SPIKE_LIMIT_V
from generator.model.variant import CoilState
from generator.pictures.circuit_text import image_markdown
from generator.questions.asked import questions_of
from generator.questions.question import Question
from generator.workbooks.examples import WorkedExample
from lessons.errors import LessonError
from lessons.loader import LessonBook
from lessons.schema import Example, ExerciseKind
from workbook.texts import ENGLISH, _, decimal, speaking

# Everybody sees an example.
_NO_SECRET = bytes(32)
_FAULTS = (TemplateError, TypeError, ValueError, KeyError)
_PLACE = re.compile(r"\{\{.*?\}\}", re.DOTALL)
_NO_ATTRIBUTE = re.compile(r"WorkedExample object' has no attribute '(.*)'")


def _in_unit(unit: str) -> Callable[[float], str]:
    return lambda value: short_text(value, unit)


# What a shop can state without a circuit at hand.
_RULES = {
    "drop_limit": {place: short_text(v, "V") for place, v in DROP_LIMITS_V.items()},
    "spike_limit": short_text(SPIKE_LIMIT_V, "V"),
    "fine_clamp": CLAMP_100.scale_text,
    "coarse_clamp": CLAMP_10.scale_text,
    "no_current": f"{100 * NO_CURRENT_FRAC:g} %",
}


def _environment() -> SandboxedEnvironment:
    # The text becomes Markdown, which knows no HTML escapes.
    environment = SandboxedEnvironment(
        undefined=StrictUndefined, autoescape=False, trim_blocks=True
    )
    units = {"A": "A", "V": "V", "ohm": "Ω", "W": "W", "s": "s"}
    environment.filters.update({name: _in_unit(u) for name, u in units.items()})
    environment.globals.update(_RULES)
    low, high = (short_text(volts, "V") for volts in BATTERY_V)
    battery = _("{low} to {high}").format(low=low, high=high)
    environment.globals["battery"] = battery
    environment.globals["worked"] = worked_questions
    return environment


def worked_questions(example: WorkedExample, kind: ExerciseKind, number: int) -> str:
    """Questions of a kind about an example, each with what is right, in Markdown.

    Parameters
    ----------
    number : int
        Decides what is drawn for them, as a secret does for students.
    """
    exercise = example.exercise
    radical = replace(exercise.radical, kind=kind)
    key = number.to_bytes(2)
    asked = questions_of(replace(exercise, radical=radical, question_key=key))
    return "\n\n".join(map(_worked, asked))


def _worked(question: Question) -> str:
    """A question, its picture where it has one, and what is right."""
    picture = question.picture
    shown = f"{image_markdown(picture.svg, picture.alt)}\n\n" if picture else ""
    if question.number is not None:
        right = question.number.right
    else:
        named = _(", then ").join(option.label for option in question.right)
        right = f"**{named}.** {question.text or question.right[0].text}"
    return f"{shown}*{question.label}* {right}"


@lru_cache(maxsize=64)
def lesson_text(book: LessonBook, spoken: str = ENGLISH) -> str:
    """Fill a lesson's text in one of its languages with its examples.

    In the text, each example goes by its name: ``{{ tracks.reading("load_current") }}``
    is what the meter shows on it, ``{{ (tracks.circuit.supply_v) | V }}`` a number with
    its unit, ``{{ worked(tracks, "drops", 1) }}`` questions about it and what is right.
    See `WorkedExample` for all there is to ask.

    Raises
    ------
    LessonError
        Where the text asks for what is not there, or an example cannot be drawn.
    """
    with speaking(spoken):
        return decimal(_filled(book, spoken))


def _filled(book: LessonBook, spoken: str) -> str:
    folder = Path(book.lesson.id)
    texts = {ENGLISH: ("lesson.md", book.text)}
    texts |= {name: (f"lesson.{name}.md", text) for name, text in book.translations}
    file, text = texts[spoken]
    try:
        made = new_examples(book, book.lesson.examples)
    except DrawError as error:
        problem = Problem(path=folder / "lesson.toml", line=1, message=str(error))
        raise LessonError([problem]) from error
    names = [example.name for example in book.lesson.examples]
    examples = dict(zip(names, made, strict=True))
    try:
        return _environment().from_string(text).render(**examples)
    except _FAULTS as error:
        problems = _problems(folder / file, text, examples, error)
        raise LessonError(problems) from error


def new_examples(book: LessonBook, examples: Sequence[Example]) -> list[WorkedExample]:
    """Solve examples of a lesson.

    Raises
    ------
    DrawError
        Where no draw passes the proof.
    """
    wanted = [
        Wanted(
            book=_with_coil(book, example.coil),
            radical=Radical(
                lesson=book.lesson.id,
                family=example.family,
                fault=example.fault,
                variant=example.variant,
                symptom=example.symptom,
            ),
            labels=("example", book.lesson.id, example.name),
        )
        for example in examples
    ]
    return [_worked_example(made) for made in new_exercises(wanted, _NO_SECRET)]


def _with_coil(book: LessonBook, coil: CoilState) -> LessonBook:
    """Let the coils of a lesson's circuits be as warm as an example has them."""
    return replace(book, lesson=book.lesson.model_copy(update={"coil": (coil,)}))


def _worked_example(exercise: Exercise | DrawError) -> WorkedExample:
    if isinstance(exercise, DrawError):
        raise exercise
    pairs = zip(exercise.tests, exercise.sound_values, strict=True)
    by_id = {test.id: value for test, value in pairs}
    return WorkedExample(exercise=exercise, sound_value=by_id)


def _problems(
    path: Path, text: str, examples: Mapping[str, WorkedExample], first: Exception
) -> list[Problem]:
    """List every place that cannot be filled, each tried by itself.

    Inside of blocks a place may need what stands around it: there only the first
    fault is sure.
    """
    found = list[Problem]()
    for place in _PLACE.finditer("" if "{%" in text else text):
        try:
            _environment().from_string(place[0]).render(**examples)
        except _FAULTS as error:
            line = text.count("\n", 0, place.start()) + 1
            found.append(_problem(path, line, error))
    return found or [_problem(path, _line_of(first), first)]


def _problem(path: Path, line: int, error: Exception) -> Problem:
    said = str(error)
    unknown = _NO_ATTRIBUTE.search(said)
    if unknown is not None:
        known = [name for name in dir(WorkedExample) if not name.startswith("_")]
        said = f"an example has no {unknown[1]!r}. Ask for one of {', '.join(known)}."
    return Problem(path=path, line=line, message=f"the text cannot be filled: {said}")


def _line_of(error: BaseException) -> int:
    """Line of the template that an error came from."""
    line, trace = getattr(error, "lineno", None), error.__traceback__
    while trace is not None:
        # The last frame inside of the template is the line that asks; deeper ones are
        # ours.
        if trace.tb_frame.f_code.co_filename == "<template>":
            line = trace.tb_lineno
        trace = trace.tb_next
    return line or 1
