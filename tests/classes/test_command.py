"""``classes`` and ``cluster`` as they are typed."""

import pytest
from cryptography import x509
from cryptography.x509.oid import ExtendedKeyUsageOID

from tests.classes.school import new_school
from tests.cli.command import error_of, json_of, run


def test_what_is_done_is_told_and_what_comes_next(own):
    """For a person and for a program, with the page of the school."""
    told = run("classes", own / "plan.toml").stderr
    assert "2 classes, 3 students, 0 of them with marks." in told
    assert "Sets: 2 there already.\nMarks: 2 without hand-ins." in told
    assert f"Open {own / 'week' / 'school-report.html'}" in told
    assert (own / "week" / "school-report.html").is_file()
    told = json_of("classes", own / "plan.toml")
    assert told["sets"] == {"there": 2}
    assert [one["name"] for one in told["classes"]] == ["10a", "10b"]


def test_failure_is_told_with_exit_code_1(tmp_path):
    """A program sees it, and a person what to do."""
    folder = new_school(tmp_path / "school")
    for name in ("10a", "10b"):
        (folder / "week" / name).mkdir()
    result = run("classes", folder / "plan.toml", code=1)
    assert "10a: the set failed:" in result.stderr
    assert "Sets: 2 failed.\nMend what is told above" in result.stderr


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("--certificates=x",), "are for a cluster"),
        (("--without-tls",), "are for a cluster"),
        (("--cluster=host",), "needs --certificates FOLDER"),
        (("--cluster=tcp://host", "--certificates=x"), "no address with TLS"),
        (("--cluster=tls://host", "--without-tls"), "goes with neither"),
        (("--cluster=host", "--without-tls", "--certificates=x"), "goes with neither"),
    ],
)
def test_cluster_is_never_open_by_mistake(asked, said, tmp_path):
    """Without TLS whoever is in the network reads all secrets: so it is said."""
    folder = new_school(tmp_path / "school")
    assert said in error_of("classes", folder / "plan.toml", *asked, code=2)


def test_keys_of_a_cluster_are_made_once_and_for_their_owner(tmp_path):
    """A client's certificate makes nobody a worker, and no authority's key is kept."""
    folder = tmp_path / "keys"
    told = run("cluster", folder).stderr
    assert "dask scheduler --protocol tls" in told
    files = [path for path in folder.rglob("*") if path.is_file()]
    assert sorted({path.name for path in files}) == [
        "authority.pem",
        "certificate.pem",
        "key.pem",
    ]
    assert {path.stat().st_mode & 0o777 for path in files} == {0o600}
    uses = {}
    for role in ("scheduler", "worker", "client"):
        data = (folder / role / "certificate.pem").read_bytes()
        found = x509.load_pem_x509_certificate(data).extensions
        usage = found.get_extension_for_class(x509.ExtendedKeyUsage).value
        uses[role] = ExtendedKeyUsageOID.SERVER_AUTH in usage
    assert uses == {"scheduler": True, "worker": True, "client": False}
    assert "exists already" in error_of("cluster", folder)
