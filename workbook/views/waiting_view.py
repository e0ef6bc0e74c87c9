"""What stands where a reading will: an examination gives it when the network does."""

from __future__ import annotations

from typing import Any

from workbook.record.payload import DiagnosticTest
from workbook.texts import _
from workbook.views.view_parts import text_part


def waiting_parts(test: DiagnosticTest) -> list[dict[str, Any]]:
    """Say that a reading is asked for, and offer to take it from a slip of paper."""
    text = _(
        "{test}: your choice is recorded, and the reading comes from your instructor's "
        "machine. You can go on in another exercise meanwhile."
    )
    waiting = text_part("waiting", text.format(test=test.title))
    if test.is_own:
        # No slip has its reading: it is computed when it is asked for.
        return [waiting]
    return [
        waiting,
        {
            "kind": "form",
            "key": "slip",
            "action": "slip",
            "item": test.id,
            "is_minor": True,
            "legend": _("Reading from a slip of paper"),
            "help": _(
                "Only where your instructor gives you one: the code of this test "
                "stands on your handout."
            ),
            "submit": _("Take this reading"),
            "fields": [
                {
                    "kind": "text",
                    "name": "display",
                    "label": _("What the slip says"),
                    "most": 80,
                }
            ],
        },
    ]
