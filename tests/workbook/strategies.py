"""Journal entries for property tests: likely steps, in and out of order."""

from hypothesis import strategies as st

from workbook.record.entries import step_from

numbers = st.floats(-100, 100).map(lambda value: round(value, 4))


def _entry(kind, items, **fields):
    return st.fixed_dictionaries(
        {
            "exercise": st.integers(1, 2),
            "kind": st.just(kind),
            "item": st.sampled_from(items),
            **fields,
        }
    ).map(step_from)


_typed = {"raw": st.sampled_from(["1 A", "12,5 A"]), "value": numbers}
_words = st.sampled_from(["none", "expected"])

entries = st.one_of(
    _entry("prediction", ["coil_current", "load_current"], unit=st.just("A"), **_typed),
    _entry("test", ["control_current", "load_current"], expected=_words),
    _entry(
        "finding",
        ["control_current", "load_current"],
        outcome=_words,
        statement=st.sampled_from(["s1", "s2", "s3"]),
    ),
    _entry(
        "conclusion", ["conclusion"], cause=st.just("c03"), correction=st.just("r03")
    ),
    _entry("hint", ["choice"], step=st.integers(1, 3)),
    _entry("note", ["exercise"], text=st.sampled_from(["", "look at F1"])),
    _entry("restart", ["exercise"]),
    _entry("verification", ["after_repair"], unit=st.just("V"), **_typed),
)
"""One step, with nothing of the journal's own."""
