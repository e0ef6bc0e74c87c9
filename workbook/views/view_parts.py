"""Parts that every section of a page is made of, as plain JSON values; pure."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable, Sequence
from typing import Any

from workbook.judging.feedback import Remark, judge_number
from workbook.no_break import keep_units
from workbook.number_text import answer_text
from workbook.quantities import SUMS
from workbook.record.payload import (
    Choice,
    DiagnosticTest,
    Judgement,
    NumberAsked,
    Picture,
)
from workbook.record.progress import Answer
from workbook.texts import _, decimal

Part = dict[str, Any]

_UNIT_KEYS = {
    "A": ("A", "mA"),
    "V": ("V", "mV"),
    "Ω": ("Ω", "kΩ"),
    "s": ("s", "ms"),
    "min": ("min", "h"),
    "d": ("d", "h"),
}


def exercise_label(number: int) -> str:
    """Name an exercise."""
    return _("Exercise {number}").format(number=number)


def notice(tone: str, label: str, text: str) -> Part:
    """Describe one remark."""
    return {"tone": tone, "label": label, "text": text}


def section(
    key: str,
    title: str,
    state: str,
    parts: Iterable[Part | None],
    *,
    is_folded: bool = False,
) -> Part:
    """Describe a section, with the parts that there are."""
    return {
        "key": key,
        "title": title,
        "state": state,
        "is_folded": is_folded,
        "parts": [part for part in parts if part is not None],
    }


def state_of(*, is_done: bool) -> str:
    """Say how far a section that is open has come."""
    return "done" if is_done else "now"


def text_part(key: str, text: str) -> Part:
    """Describe a paragraph."""
    return {"kind": "text", "key": key, "text": text}


def remarks(said: Iterable[Remark]) -> list[Part]:
    """Describe what is said to a step."""
    return [notice(each.tone, each.label, each.text) for each in said]


def number_part(
    kind: str, asked: NumberAsked, answer: Answer | None, judgement: Judgement | None
) -> Part:
    """Ask for a number, or show it once it is recorded."""
    if answer is not None:
        said = [judge_number(judgement, answer.value)] if judgement else []
        shown = number_answer(kind, asked, answer, said)
        return {**shown, "typed": answer.raw, "time": answer.time}
    units = _UNIT_KEYS.get(asked.unit, (asked.unit,))
    return {
        "kind": "form",
        "key": f"{kind}:{asked.id}",
        "action": kind,
        "item": asked.id,
        "legend": asked.label,
        "help": asked.help,
        "submit": _("Record"),
        "fields": [
            {
                "kind": "number",
                "name": "raw",
                "label": _("Your number with its unit"),
                "units": list(units),
                "hint": _number_hint(units),
            }
        ],
    }


def _number_hint(units: Sequence[str]) -> str:
    single = _("Such as 1.5 {unit}, 1,5 {unit} or 250 {small}.")
    told = single.format(unit=units[0], small=units[-1])
    if units[0] not in SUMS:
        return told
    sum_ = _("A calculation is worked out: {example}.").format(example=SUMS[units[0]])
    return keep_units(f"{told} {decimal(sum_)}")


def number_answer(
    kind: str, asked: NumberAsked, answer: Answer, said: Iterable[Remark]
) -> Part:
    """Show a number that is there, and what is said to it."""
    return {
        "kind": "answer",
        "key": f"{kind}:{asked.id}",
        "rows": [[asked.label, decimal(answer_text(answer.value, answer.unit))]],
        "typed": "",
        "time": "",
        "remarks": remarks(said),
    }


def reading_part(
    test: DiagnosticTest, facts: Iterable[Sequence[str]], said: Iterable[Remark]
) -> Part:
    """Show what an instrument reads, what is stated of it and what is said to that."""
    return {
        "kind": "reading",
        "key": f"reading:{test.id}",
        "title": test.title,
        "how": test.how,
        "display": test.display,
        "instrument": test.instrument,
        "range": test.range,
        "picture": image(test.picture),
        "facts": [list(fact) for fact in facts],
        "remarks": remarks(said),
    }


def image(picture: Picture | None) -> Part | None:
    """Give a picture as an image, in which no script of it could run."""
    if picture is None:
        return None
    data = b64encode(picture.svg.encode()).decode()
    return {"src": f"data:image/svg+xml;base64,{data}", "alt": picture.alt}


def select_field(name: str, label: str, choices: Sequence[Choice]) -> Part:
    """Describe a field that offers a menu."""
    options = [{"value": choice.id, "label": choice.label} for choice in choices]
    return {"kind": "select", "name": name, "label": label, "options": options}
