"""What an inbox keeps on the disk comes back whole, and a full disk is told."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from answer_keys.errors import GradebookError
from answer_keys.gradebook.contenders import Contender
from answer_keys.gradebook.inbox_file import InboxFile
from answer_keys.gradebook.receipts import receipts_packed
from answer_keys.gradebook.standings import Receipt, new_standing
from answer_keys.marking.marked import Known

THEN = datetime(1, 1, 1, tzinfo=UTC)
LAST = datetime.max.replace(tzinfo=UTC)


@pytest.fixture
def kept():
    """A file with nothing in it."""
    file = InboxFile()
    yield file
    file.close()


def contender(student, sha="a", **changes):
    """A hand-in of a student."""
    fields = {
        "name": f"{student}.jsonl",
        "sha256": sha * 64,
        "notices": ("Zoë", "line\n2"),
        "size": 2,
        "trail": {"0a1b": bytes(range(16)), "": b""},
        "modified": LAST,
        "seen_at": THEN,
        "is_late": False,
        "is_elsewhere": True,
        "is_ahead": False,
        "standing": new_standing(student, sha * 64, (0.1 + 0.2, 3.0), counts="last"),
    }
    return Contender(**fields | changes)


def known(student, sha):
    """A hand-in that the gradebook has."""
    heads = {"0a1b": (2, "0f" * 8)}
    return Known(
        sha256=sha * 64,
        student=student,
        file="x",
        received_at=THEN,
        seen_at=LAST,
        heads=heads,
        has_counted=True,
    )


def fields_of(one):
    """All that a contender holds, which is equal to no other by itself."""
    return {name: getattr(one, name) for name in Contender.__slots__}


def test_hand_ins_come_back_whole_student_by_student(kept):
    """In the order in which they were taken, whatever their names are."""
    taken = [contender("s02"), contender("s01", "b"), contender("s02", "c")]
    for one in taken:
        kept.add_contender(one)
    assert kept.students() == ["s02", "s01"]
    found = [*kept.contenders_of("s02"), *kept.contenders_of("s01")]
    expected = [taken[0], taken[2], taken[1]]
    assert [*map(fields_of, found)] == [*map(fields_of, expected)]
    assert kept.contenders_of("nobody") == []


def test_what_is_gone_is_what_has_not_come(kept):
    """Of one student, though another has handed in the same bytes."""
    for one in (known("s01", "a"), known("s01", "b"), known("s02", "c")):
        kept.add_known(one)
    kept.add_contender(contender("s01", "b"))
    kept.add_contender(contender("s02", "a"))
    assert kept.gone_of("s01") == [known("s01", "a")]
    assert kept.known_as("b" * 64) == known("s01", "b")
    assert kept.known_as("d" * 64) is None


def test_receipts_come_in_the_order_of_their_names(kept):
    """By code point, as Python sorts; of two alike the first comes first."""
    names = ["b", "Z", "a/b", "a b", "é", "a", "😀", "\uffff", "b"]
    for number, name in enumerate(names):
        kept.add_receipt(Receipt(name=name, status="refused", reason=str(number)))
    found = list(kept.receipts())
    assert [one.name for one in found] == sorted(names)
    assert [one.reason for one in found if one.name == "b"] == ["0", "8"]


def test_full_disk_is_told_with_its_remedy(kept):
    """In a sentence, and not as an error of the database's."""
    kept._database.execute("PRAGMA max_page_count = 20")
    one = contender("s01", trail={"0a1b": bytes(1_000_000)})
    with pytest.raises(GradebookError, match=r"\(database or disk is full\). Make roo"):
        kept.add_contender(one)


def test_packed_receipts_are_those_that_were_packed():
    """Share by share; others are other receipts."""
    some = [
        Receipt(name=f"{number}", status="graded", student="s01", code="c")
        for number in range(2500)
    ]
    packed = receipts_packed(iter(some))
    assert (len(packed), list(packed), list(packed)) == (2500, some, some)
    assert some[2400] in packed
    assert packed == receipts_packed(some)
    others = [*some[:-1], replace(some[-1], status="superseded")]
    assert packed != receipts_packed(others)
    assert others[-1] not in packed
    assert not receipts_packed([])
