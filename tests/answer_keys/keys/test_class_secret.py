import json
import stat

import pytest

from answer_keys.errors import (
    PassphraseNeededError,
    SecretError,
    WrongPassphraseError,
)
from answer_keys.keys.class_secret import (
    ClassSecret,
    new_class_secret,
    read_class_secret,
    write_class_secret,
)

SECRET = ClassSecret(value=bytes(range(32)))


def test_new_class_secret_differs_each_time():
    """Two new secrets are unlike each other."""
    assert new_class_secret() != new_class_secret()


def test_class_secret_does_not_print_its_value():
    """The value of a secret is in no printed form."""
    assert "value" not in repr(SECRET)


def test_class_secret_of_wrong_length_is_refused():
    """A secret has 32 bytes."""
    with pytest.raises(ValueError, match="32 bytes, not 3"):
        ClassSecret(value=b"abc")


def test_class_secret_comes_back_from_its_file(tmp_path):
    """What was written is read, and only the owner may read the file."""
    path = tmp_path / "class-secret.txt"
    write_class_secret(path, SECRET)
    assert read_class_secret(path) == SECRET
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_class_secret_is_never_overwritten(tmp_path):
    """Writing where a secret is raises and leaves it."""
    path = tmp_path / "class-secret.txt"
    write_class_secret(path, SECRET)
    with pytest.raises(SecretError, match="never overwritten") as caught:
        write_class_secret(path, new_class_secret())
    assert caught.value.path == path
    assert read_class_secret(path) == SECRET


def test_passphrase_protects_the_secret(tmp_path):
    """Under a passphrase the file alone does not hold the secret."""
    path = tmp_path / "class-secret.txt"
    write_class_secret(path, SECRET, "four horses é")
    assert SECRET.value.hex() not in path.read_text()
    # The accent composed in another way is the same passphrase.
    assert read_class_secret(path, "four horses e\u0301") == SECRET


def test_wrong_or_missing_passphrase_is_told_apart(tmp_path):
    """Each failure has an error of its own."""
    path = tmp_path / "class-secret.txt"
    write_class_secret(path, SECRET, "right")
    with pytest.raises(PassphraseNeededError):
        read_class_secret(path)
    with pytest.raises(WrongPassphraseError, match="passphrase is wrong"):
        read_class_secret(path, "left")


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        ({"kind": "x"}, "not a class secret"),
        ({"format": 2}, "format 2 is not known"),
        ({"secret": "zz"}, "damaged"),
        ({"secret": "00"}, "damaged"),
        ({"secret": 3}, "damaged"),
        ({"protected": "!"}, "damaged"),
        ({"protected": "AAAA", "salt": "00"}, "damaged"),
    ],
)
def test_damaged_class_secret_is_refused(tmp_path, change, problem):
    """A file that was changed says what is wrong with it."""
    path = tmp_path / "class-secret.txt"
    write_class_secret(path, SECRET)
    body = json.loads(path.read_text()) | {"salt": "00" * 16, "nonce": "00" * 12}
    path.write_text(json.dumps(body | change))
    with pytest.raises(SecretError, match=problem):
        read_class_secret(path, "any")


def test_missing_or_foreign_class_secret_is_refused(tmp_path):
    """No file and a file that is no JSON are refused."""
    path = tmp_path / "class-secret.txt"
    with pytest.raises(SecretError, match="no class secret here"):
        read_class_secret(path)
    path.write_bytes(b"\xff\xfe")
    with pytest.raises(SecretError, match="not JSON"):
        read_class_secret(path)
