"""Wrong rules of what is read off a trace, a log, a fuse or a scan tool.

Each as ``answer_keys.misconceptions`` has it: id, title, formula, explanation, cure.
"""

from __future__ import annotations

WRONG_READINGS = (
    (
        "peak_for_settled",
        "The inrush taken for the running current",
        "peak of the trace",
        "That is the peak as it is switched on; what it draws is where the trace has "
        "settled.",
        "Let the trace come to rest before you read what a load draws.",
    ),
    (
        "ripple_for_turn",
        "Each ripple taken for a turn",
        "60 ÷ time of one ripple",
        "That takes each ripple for a turn: every bar that passes the brushes makes "
        "one.",
        "Count as many ripples as the motor has bars: that is one turn.",
    ),
)
