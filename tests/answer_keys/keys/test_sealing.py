import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from answer_keys.errors import (
    KeyContentError,
    OtherSetError,
    SealError,
    WrongSecretError,
)
from answer_keys.keys.class_secret import ClassSecret
from answer_keys.keys.sealing import (
    Envelope,
    KeyCipher,
    read_sealed_key,
    seal,
    unseal,
    write_sealed_key,
)
from tests.answer_keys.samples import SET_ID, key_content
from tests.keys import answer_key_of

SECRET = ClassSecret(value=bytes(32))
OTHER = ClassSecret(value=b"\x01" * 32)
CONTENT = key_content()
KEY = answer_key_of(CONTENT)


def test_seal_hides_content_and_comes_back():
    """The key is not in the sealed text and is opened unchanged."""
    text = seal(SECRET, KEY)
    assert b"load_ground_high" not in text
    assert json.loads(text)["set_id"] == SET_ID
    opened = unseal(SECRET, SET_ID, text)
    assert opened == KEY


def test_seal_draws_a_new_nonce_each_time():
    """The same key sealed twice gives two texts."""
    assert seal(SECRET, KEY) != seal(SECRET, KEY)


def test_unseal_tells_key_of_another_set():
    """A key of another set is named as such."""
    with pytest.raises(OtherSetError, match=f"'{SET_ID}', not of set 'm3'") as caught:
        unseal(SECRET, "m3", seal(SECRET, KEY))
    assert (caught.value.expected, caught.value.found) == ("m3", SET_ID)


def test_unseal_tells_another_class_secret_from_damage():
    """A wrong secret is not mistaken for a damaged key."""
    with pytest.raises(WrongSecretError, match="sealed with another one"):
        unseal(OTHER, SET_ID, seal(SECRET, KEY))


def test_set_id_is_authenticated():
    """A key relabelled for another set does not open."""
    body = json.loads(seal(SECRET, KEY)) | {"set_id": "m3"}
    with pytest.raises(SealError):
        unseal(SECRET, "m3", json.dumps(body).encode())


@given(st.data())
def test_any_changed_byte_is_noticed(data):
    """No change of the sealed bytes, in whichever student's part, gives content."""
    body = json.loads(seal(SECRET, KEY))
    place = data.draw(st.integers(0, len(body["sealed"]) - 5))
    letter = "A" if body["sealed"][place] != "A" else "B"
    body["sealed"] = body["sealed"][:place] + letter + body["sealed"][place + 1 :]
    with pytest.raises(SealError, match="damaged"):
        unseal(SECRET, SET_ID, json.dumps(body).encode())


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        (b"{", "not JSON"),
        (b"\xff\x00", "not JSON"),
        (b"[]", "not a sealed answer key"),
        (b'{"format": 2}', "not a sealed answer key"),
        (
            b'{"kind": "sealed-answer-key", "format": 9}',
            "format 9; this release reads format 1",
        ),
        (b'{"kind": "sealed-answer-key", "format": 1}', "damaged"),
        (
            seal(SECRET, KEY).replace(b'"nonce": "', b'"nonce": "!'),
            "damaged.*nonce",
        ),
    ],
)
def test_foreign_text_is_refused(text, problem):
    """What is no sealed key says so."""
    with pytest.raises(SealError, match=problem):
        unseal(SECRET, SET_ID, text)


@pytest.mark.parametrize("written", [b"\x93\x01\x02\x03", b"no MessagePack", b"\x80"])
def test_what_was_sealed_must_be_a_key(written):
    """Something else that was sealed with the right secret is no answer key."""
    cipher = KeyCipher(secret=SECRET, set_id=SET_ID, format=1)
    text = Envelope(
        format=1,
        set_id=SET_ID,
        secret_mark=cipher.mark(),
        nonce=bytes(12),
        sealed=cipher.encrypt(bytes(12), written),
    ).writes()
    with pytest.raises(KeyContentError, match="The answer key's content"):
        unseal(SECRET, SET_ID, text)


def test_sealed_key_file_comes_back(tmp_path):
    """The file opens, and no draft is left beside it."""
    path = tmp_path / "answer-key.sealed"
    write_sealed_key(path, SECRET, KEY)
    assert read_sealed_key(path, SECRET, SET_ID) == KEY
    assert list(tmp_path.iterdir()) == [path]


def test_missing_key_file_is_refused(tmp_path):
    """No file is refused with the reason."""
    with pytest.raises(SealError, match="no answer key"):
        read_sealed_key(tmp_path / "answer-key.sealed", SECRET, SET_ID)
