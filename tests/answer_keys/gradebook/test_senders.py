"""Whom a path names: whole words only, and no one where the student is named, too."""

import pytest

from answer_keys.gradebook.senders import Senders

ROSTER = {
    "s01": "Anna-Lena Müller",
    "s02": "Anna Berg",
    "s03": "Max",
    "4": "Ivo Ruiz",
    "20261": "Li An",
    "mo": "Uma O'Hara",
    "jferrant": "Jonas Ferrant",
    "a.b@school": "Étienne Koç",
    "s05": "Anna-Lena Berg",
}
SENDERS = Senders(ROSTER)


@pytest.mark.parametrize(
    ("student", "path", "named"),
    [
        ("s01", "s02/hand-in-s01.jsonl", "s02"),
        ("s01", "hand-in-k7m2q-s02.jsonl", "s02"),
        ("s01", "class.zip/BERG, Anna_77_file/a.jsonl", "s02"),
        ("s01", "Berg Anna.zip/a.jsonl", "s02"),
        ("s01", "jferrant_2026-11-25.jsonl", "jferrant"),
        ("s01", "Etienne KOC (2).jsonl", "a.b@school"),
        ("s01", "a.b@school.zip/x", "a.b@school"),
        ("s01", "20261_upload.jsonl", "20261"),
        ("s02", "for Max/a.jsonl", "s03"),
        # The student is named there, too, be it by half of the name.
        ("s01", "s01 and s02/hand-in-s01.jsonl", None),
        ("s01", "Muller_A_4711/a.jsonl", None),
        ("s02", "Anna Berg, Max/hand-in-s02.jsonl", None),
        ("s02", "Lena Berg and Anna Müller/a.jsonl", None),
        ("s05", "Anna Berg/a.jsonl", None),
        # Parts of words, short ids and what stands in dates.
        ("s01", "s0211/s023.jsonl", None),
        ("s01", "Annaberg/Julian/Maxwell.jsonl", None),
        ("s01", "week 4/2026-11-4/upload 4.jsonl", None),
        ("s01", "mo 23/a.jsonl", None),
        ("s01", "Berg/a.jsonl", None),
        ("s01", "handed-in again.zip/class.zip/a.jsonl", None),
    ],
)
def test_other_student_is_named_or_nobody(student, path, named):
    """By id or by all words of the name."""
    sign = SENDERS.other_than(student, path)
    assert (sign and sign.student) == named


def test_roster_without_names_has_ids_alone():
    """An empty name is no sign of anybody."""
    senders = Senders({"s01": "", "s02": ""})
    assert senders.other_than("s01", "some folder/a.jsonl") is None
    assert senders.other_than("s01", "s02/a.jsonl").student == "s02"


def test_two_of_one_name_are_not_told_apart():
    """Nor is one accused for the other."""
    senders = Senders({"s01": "Anna Berg", "s02": "Anna Berg"})
    assert senders.other_than("s01", "Anna Berg/a.jsonl") is None
