"""Marks for a number that was asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from answer_keys.marks import Share
from answer_keys.wording import answer_text, band_text

if TYPE_CHECKING:
    from answer_keys.key_record import Band, NumberKey, WrongRule
    from workbook.progress import Answer

__all__ = ["graded_number"]


def graded_number(key: NumberKey, answer: Answer | None) -> Share:
    """Grade a number by its band, and name the wrong rule that explains it."""
    right = f"right is {band_text(key.band, key.unit)}"
    if answer is None:
        reason = f"Not answered; {right}."
        return Share(item=key.id, title=key.label, share=0.0, reason=reason)
    wrote, misconception = f"You wrote {answer_text(answer)}", ""
    is_right = answer.unit == key.unit and _is_inside(answer.value, key.band)
    reason = f"{wrote}; {right}."
    if answer.unit != key.unit:
        reason = f"{wrote}, but this is asked in {key.unit}."
    elif not is_right and (rule := _rule(key, answer.value)) is not None:
        reason, misconception = f"{reason} {rule.text}", rule.id
    return Share(
        item=key.id,
        title=key.label,
        share=float(is_right),
        reason=reason,
        misconception=misconception,
        answer=answer.raw.strip(),
    )


def _rule(key: NumberKey, value: float) -> WrongRule | None:
    """Find the wrong rule that explains a number."""
    for rule in key.misconceptions:
        if _is_inside(value, rule.band):
            return rule
    return None


def _is_inside(value: float, band: Band) -> bool:
    # The last bits of a number on the edge hang on how it was typed (350 mA, 0.35 A).
    low, high = band
    slack = 1e-9 * max(abs(low), abs(high))
    return low - slack <= value <= high + slack
