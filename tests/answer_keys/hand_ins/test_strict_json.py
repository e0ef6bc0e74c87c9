import json
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.hand_in_lines import (
    NotJsonError,
    _content,
    _looked_through,
    object_from_line,
    read_line,
)

values = st.none() | st.booleans() | st.integers(-(10**14), 10**14) | st.text()


@given(st.dictionaries(st.text(), values | st.floats(allow_nan=False, width=32)))
def test_honest_objects_come_back(content):
    """Strictness does not change what is plain JSON."""
    numbers = [one for one in content.values() if isinstance(one, float)]
    if all(abs(one) < float("inf") for one in numbers):
        line = json.dumps(content).encode()
        assert object_from_line(line) == content


@pytest.mark.parametrize("sign", ["[", '{"a":'])
def test_nesting_of_any_depth_is_refused_before_parsing(sign):
    """A hundred thousand levels end in a refusal, not in a full stack."""
    with pytest.raises(RefusedError, match="nested deeper than 4"):
        object_from_line(sign.encode() * 100_000)


def test_brackets_in_texts_are_no_nesting():
    """Brackets and escaped quotes inside a text do not count."""
    line = json.dumps({"raw": '[[[[[[[["]]]]'}).encode()
    assert object_from_line(line)["raw"].startswith("[")
    assert object_from_line(b'{"a":[[1],[2]]}') == {"a": [[1], [2]]}


def test_huge_whole_number_is_refused():
    """A number of a million digits is never converted."""
    with pytest.raises(RefusedError, match="more than 15 digits"):
        object_from_line(b'{"a":' + b"9" * 1_000_000 + b"}")


@pytest.mark.parametrize("line", [b"\xff", b"{", b'{"a":1}x'])
def test_what_is_no_json_has_an_error_of_its_own(line):
    """A torn line can be told from a forbidden one."""
    with pytest.raises(NotJsonError):
        object_from_line(line)


ODD = ["", "a", "Ω", "\x7f", '\\"', "\\u2126", '":', "a" * 101, "[", "{"]
VALUES = [
    *(f'"{text}"' for text in ODD),
    *("1", "-1", "01", "1.5", "1.", "-0", "1e3", "1e999", "9" * 16, "0." + "1" * 41),
    *("NaN", "true", "null", "[]", '["a"]', '{"a":1}', "[[[[[]]]]]"),
]
PAIRS = st.tuples(st.sampled_from(["a", "b", "a b"]), st.sampled_from(VALUES))


def outcome_of(read, line):
    """What comes of reading a line, as a text."""
    try:
        return repr(read(line))
    except RefusedError as error:
        return repr(error)


@given(st.lists(PAIRS), st.sampled_from([",", ", ", ""]), st.sampled_from(["}", ",}"]))
def test_plain_lines_are_read_as_all_others(pairs, comma, end):
    """The short way takes nothing that the long one refuses, and reads the same."""
    line = "{" + comma.join(f'"{key}":{value}' for key, value in pairs) + end
    plain = outcome_of(object_from_line, line.encode())
    assert plain == outcome_of(_looked_through, line)


HASH = "0123456789abcdef" * 4
HASHES = [HASH, HASH[::-1], HASH[:-1], f"{HASH}a", HASH.upper(), "\\u0061", ""]
LINKS = [
    f"{name}{text}{end}"
    for name in ('"prev":"', '"a\\"prev":"', 'prev":"', '"text":"')
    for text in HASHES
    for end in ('"', '\\"', "", 'Ω"')
]


def test_line_is_read_as_by_itself_whatever_its_hash():
    """What was read of one that differs in its hash alone is taken for nothing else."""
    note = {"exercise": 1, "item": "exercise", "kind": "note", "seq": 1}
    step = json.dumps(note | {"time": "2026-11-25T07:40:01.5Z"}).removesuffix("}")
    for one, other in product(LINKS, ['"text":"x"', *LINKS]):
        line = f"{step},{one},{other}}}".encode()
        assert outcome_of(read_line, line) == outcome_of(_content, line)
