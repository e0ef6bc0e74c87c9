"""What a student has set up, as tests beside those of the key."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cached_property, lru_cache
from itertools import islice

from answer_keys.keys.key_record import KeyRecord, StatementKey, TestKey
from generator.model.measure import Sorting
from generator.model.plan import Plan
from workbook.measuring.judged import Split, split_of
from workbook.measuring.minutes import minutes_after
from workbook.measuring.offered import (
    caution_of,
    display_text,
    proofs_of,
    right_proof,
    words_on_offer,
)
from workbook.measuring.proofs import Proof
from workbook.measuring.set_up import set_up_of
from workbook.measuring.texts import title_of
from workbook.record.bench import Bench, is_code
from workbook.record.set_up import SetUp
from workbook.texts import language

_SORTINGS: dict[str, Sorting] = {
    "volts": "feed voltage",
    "clamp": "load current",
    "ohms": "resistance",
    "scope": "turn-off",
}
_SAME_WAYS = 256


@dataclass(frozen=True, kw_only=True)
class ExtendedRecord(KeyRecord):
    """A key with set-ups of the student among its tests; ``listed`` has its list alone.

    Its plan is that of the list. A set-up is judged by the plan that may choose it,
    too: those done before it would tell nothing again, and those after it were not
    thought of yet.
    """

    listed: KeyRecord

    # Said again, because a dataclass else makes a hash of all that it holds.
    __hash__ = KeyRecord.__hash__

    @property
    def plan(self) -> Plan:
        """The plan of the list."""
        return self.listed.plan

    def plan_with(self, number: int) -> tuple[Plan, int]:
        """The plan that the choice of a test is judged by, and its number there."""
        if number < len(self.listed.tests):
            return self.plan, number
        return self._plans[number - len(self.listed.tests)], len(self.listed.tests)

    @cached_property
    def _plans(self) -> tuple[Plan, ...]:
        table, listed = self.reasoning, self.listed.reasoning
        every = zip(
            table.tests,
            table.columns,
            table.sound,
            table.reading_minutes,
            table.needs,
            strict=True,
        )
        own = islice(every, len(listed.tests), None)
        return tuple(listed.with_test(*each).plan for each in own)


def with_set_ups(record: KeyRecord, items: Sequence[str]) -> KeyRecord:
    """Put set-ups among the tests of a key.

    Parameters
    ----------
    items : sequence of str
        Every test done, in order, by the items of the journal.

    Raises
    ------
    workbook.errors.RefusedError
        Where one is a code that this circuit does not know.
    """
    if record.bench is None or not any(map(is_code, items)):
        return record
    return _extended(record, record.bench, tuple(items), language())


@lru_cache(maxsize=_SAME_WAYS)
def _extended(
    record: KeyRecord, bench: Bench, items: tuple[str, ...], _spoken: str
) -> KeyRecord:
    tests, table = list(record.tests), record.reasoning
    for place, code in enumerate(items):
        # Done twice, it stands among the tests already.
        if not is_code(code) or code in items[:place]:
            continue
        split, set_up = split_of(bench, code), set_up_of(code, bench)
        minutes = minutes_after(items[:place], set_up, bench)
        tests.append(_test(record, bench, code, minutes.total))
        table = table.with_test(
            code, split.outcomes, split.sound, minutes.total, minutes.needs
        )
    own = {each.name: getattr(record, each.name) for each in fields(KeyRecord)}
    told = {"tests": tuple(tests), "reasoning": table}
    return ExtendedRecord(**{**own, **told}, listed=record)


def _test(record: KeyRecord, bench: Bench, code: str, minutes: float) -> TestKey:
    split, set_up = split_of(bench, code), set_up_of(code, bench)
    places = [fault.sections for fault in record.reasoning.faults]
    proofs = proofs_of(bench, record.sections, places, split)
    return TestKey(
        id=code,
        title=title_of(set_up, bench),
        minutes=minutes,
        display=display_text(set_up, split),
        outcome=split.outcome,
        sound_outcome=split.sound,
        outcomes=_words(set_up, split),
        sorting=_SORTINGS[set_up.instrument],
        statement=right_proof(proofs, split.outcome),
        statements=tuple(_statement(bench, one) for one in proofs),
        mistake=caution_of(split),
    )


def _words(set_up: SetUp, split: Split) -> tuple[str, ...]:
    """Whatever any page could offer: one without the circuits offers all there are."""
    shown = (*words_on_offer(set_up, split), *words_on_offer(set_up))
    return tuple(dict.fromkeys(shown))


def _statement(bench: Bench, proof: Proof) -> StatementKey:
    rules = {rule.cleared: rule.id for rule in bench.known.rules}
    misconception = "" if proof.outcomes else rules.get(proof.cleared, "")
    return statement_key(proof, misconception)


def statement_key(proof: Proof, misconception: str) -> StatementKey:
    """What the key holds of a statement: what proves it, and what else says it."""
    return StatementKey(
        id=proof.id,
        text=proof.text,
        cleared=proof.cleared,
        suspect=proof.suspect,
        outcomes=proof.outcomes,
        misconception=misconception,
    )
