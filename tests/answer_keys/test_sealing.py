import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from answer_keys.class_secret import ClassSecret
from answer_keys.errors import OtherSetError, SealError, WrongSecretError
from answer_keys.sealing import read_sealed_key, seal, unseal, write_sealed_key

SECRET = ClassSecret(value=bytes(32))
OTHER = ClassSecret(value=b"\x01" * 32)
CONTENT = {"format": 1, "set_id": "k7", "exercises": [{"fault": "coil_open", "Ω": 1}]}


def test_seal_hides_content_and_comes_back():
    """The key is not in the sealed text and is opened unchanged."""
    text = seal(SECRET, "k7", CONTENT)
    assert "coil_open" not in text
    assert json.loads(text)["set_id"] == "k7"
    assert unseal(SECRET, "k7", text) == CONTENT


def test_seal_draws_a_new_nonce_each_time():
    """The same key sealed twice gives two texts."""
    assert seal(SECRET, "k7", CONTENT) != seal(SECRET, "k7", CONTENT)


def test_unseal_tells_key_of_another_set():
    """A key of another set is named as such."""
    text = seal(SECRET, "k7", CONTENT)
    with pytest.raises(OtherSetError, match="'k7', not of set 'm3'") as caught:
        unseal(SECRET, "m3", text)
    assert (caught.value.expected, caught.value.found) == ("m3", "k7")


def test_unseal_tells_another_class_secret_from_damage():
    """A wrong secret is not mistaken for a damaged key."""
    with pytest.raises(WrongSecretError, match="sealed with another one"):
        unseal(OTHER, "k7", seal(SECRET, "k7", CONTENT))


def test_set_id_is_authenticated():
    """A key relabelled for another set does not open."""
    body = json.loads(seal(SECRET, "k7", CONTENT)) | {"set_id": "m3"}
    with pytest.raises(SealError):
        unseal(SECRET, "m3", json.dumps(body))


@given(st.data())
def test_any_changed_byte_is_noticed(data):
    """No change of the sealed bytes gives content."""
    body = json.loads(seal(SECRET, "k7", CONTENT))
    place = data.draw(st.integers(0, len(body["sealed"]) - 5))
    letter = "A" if body["sealed"][place] != "A" else "B"
    body["sealed"] = body["sealed"][:place] + letter + body["sealed"][place + 1 :]
    with pytest.raises(SealError, match="damaged"):
        unseal(SECRET, "k7", json.dumps(body))


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("{", "not JSON"),
        ("[]", "not a sealed answer key"),
        ('{"kind": "sealed-answer-key", "format": 9}', "format 9; only format 1"),
        ('{"kind": "sealed-answer-key", "format": 1}', "damaged"),
    ],
)
def test_foreign_text_is_refused(text, problem):
    """What is no sealed key says so."""
    with pytest.raises(SealError, match=problem):
        unseal(SECRET, "k7", text)


def test_sealed_key_must_hold_a_table():
    """A sealed list is no answer key."""
    with pytest.raises(SealError, match="table"):
        unseal(SECRET, "k7", seal(SECRET, "k7", ["no table"]))


def test_sealed_key_file_comes_back(tmp_path):
    """The file opens, and no draft is left beside it."""
    path = tmp_path / "answer-key.sealed"
    write_sealed_key(path, SECRET, "k7", CONTENT)
    assert read_sealed_key(path, SECRET, "k7") == CONTENT
    assert list(tmp_path.iterdir()) == [path]


def test_missing_or_binary_key_file_is_refused(tmp_path):
    """No file and a binary file are refused with the reason."""
    path = tmp_path / "answer-key.sealed"
    with pytest.raises(SealError, match="no answer key"):
        read_sealed_key(path, SECRET, "k7")
    path.write_bytes(b"\xff\x00")
    with pytest.raises(SealError, match="not UTF-8"):
        read_sealed_key(path, SECRET, "k7")
