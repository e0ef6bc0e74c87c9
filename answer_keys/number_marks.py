"""Marks for a number that was asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from answer_keys.marks import Share
from answer_keys.wording import answer_text, band_text

if TYPE_CHECKING:
    from answer_keys.key_record import Band, NumberKey
    from workbook.progress import Answer

__all__ = ["graded_number"]


def graded_number(key: NumberKey, answer: Answer | None) -> Share:
    """Grade a number by its band, and name the wrong rule that explains it."""
    share, reason, misconception = 0.0, "", ""
    right = f"right is {band_text(key.band, key.unit)}"
    if answer is None:
        reason = f"Not answered; {right}."
    elif answer.unit != key.unit:
        reason = f"You wrote {answer_text(answer)}, but this is asked in {key.unit}."
    elif _is_inside(answer.value, key.band):
        share, reason = 1.0, f"You wrote {answer_text(answer)}; {right}."
    else:
        reason = f"You wrote {answer_text(answer)}; {right}."
        rules = (r for r in key.misconceptions if _is_inside(answer.value, r.band))
        if (rule := next(rules, None)) is not None:
            reason, misconception = f"{reason} {rule.text}", rule.id
    return Share(
        item=key.id,
        title=key.label,
        share=share,
        reason=reason,
        misconception=misconception,
        answer="" if answer is None else answer.raw.strip(),
    )


def _is_inside(value: float, band: Band) -> bool:
    # The last bits of a number on the edge hang on how it was typed (350 mA, 0.35 A).
    slack = 1e-9 * max(abs(band[0]), abs(band[1]))
    return band[0] - slack <= value <= band[1] + slack
