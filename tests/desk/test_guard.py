"""Nobody but the instructor's own page is answered, and it gets no secret either."""

import pytest

from answer_keys.hand_ins.limits import MAX_ZIP_BYTES
from tests.desk.conftest import SET

PLACES = (
    "/desk",
    "/desk/page/main.js",
    "/desk/api/alive",
    "/desk/api/sets",
    "/desk/api/work",
    "/desk/shown/week%203/results/class-report.html",
    "/desk/downloads/0123456789abcdef/marks.csv",
    "/api/contents",
    "/api/kernels",
)


@pytest.mark.parametrize("place", PLACES)
def test_nothing_is_given_without_the_token(place, stranger):
    """Who only finds the port gets a door, and no name of a student."""
    status, told = stranger.ask("GET", place)
    assert status in (302, 403)
    assert b"Ada" not in told


@pytest.mark.parametrize("place", PLACES)
def test_a_foreign_name_that_leads_here_is_refused(place, instructor):
    """A page of somebody else's, whose name was made to lead here, reads nothing."""
    status, told = instructor.ask("GET", place, Host="evil.example")
    assert status == 403
    assert b"Ada" not in told


@pytest.mark.parametrize("path", ["work", "end", "uploads", "preview"])
def test_a_form_of_another_site_does_nothing(path, desk, instructor):
    """The browser sends the cookie along, and that is not enough."""
    before = len(instructor.api("GET", "work")[1]["it"])
    status, _ = instructor.ask(
        "POST",
        f"/desk/api/{path}",
        "work=check",
        **{
            "Content-Type": "application/x-www-form-urlencoded",
            "Origin": "https://evil.example",
        },
    )
    assert status in (403, 404)
    assert len(instructor.api("GET", "work")[1]["it"]) == before
    assert desk[0].poll() is None


@pytest.mark.parametrize(
    "headers", [{}, {"X-XSRFToken": "guessed"}, {"Origin": "null"}]
)
def test_a_request_without_what_the_page_knows_does_nothing(headers, instructor):
    """So a cookie alone begins no work."""
    status, _ = instructor.ask("POST", "/desk/api/work", '{"work": "check"}', **headers)
    assert status in (403, 404)


@pytest.mark.parametrize(
    "name", ["..", "%2e%2e", "..%2f..", ".hidden", "no%20such%20set", "week%203%2f.."]
)
def test_no_folder_but_a_set_is_opened(name, instructor):
    """A name is never a path."""
    status, told = instructor.api("GET", f"sets/{name}")
    assert status in (404, 422)
    assert "students" not in str(told)


@pytest.mark.parametrize(
    "place",
    [
        "for-instructor/class-secret.txt",
        "for-instructor/answer-key.sealed",
        "for-instructor/roster.csv",
        "results/gradebook.sqlite",
        "set.toml",
        "results/../for-instructor/class-secret.txt",
        "results%2f..%2ffor-instructor%2fclass-secret.txt",
        "results/sheets/..%2f..%2f..%2fset.toml",
    ],
)
def test_only_pages_of_a_set_are_shown(place, instructor):
    """Class secret, key, class list and gradebook are none."""
    status, _ = instructor.shown(SET, place)
    assert status == 404


def test_a_link_in_a_set_leads_nowhere(desk, instructor):
    """What stands under the name of a page has to be that page."""
    report = desk[2] / SET / "results" / "class-report.html"
    report.symlink_to(desk[2] / SET / "for-instructor" / "class-secret.txt")
    try:
        assert instructor.shown(SET, "results/class-report.html")[0] == 404
    finally:
        report.unlink()


def test_notebooks_lists_end_where_no_set_lies(instructor):
    """What Jupyter itself gives out is a folder of previews."""
    status, told = instructor.ask("GET", "/api/contents")
    assert status == 200
    assert b"week" not in told
    status, _ = instructor.ask("GET", "/api/contents/..%2f..%2fweek%203")
    assert status in (400, 404)


def test_there_is_no_terminal(instructor):
    """The page needs none."""
    assert instructor.ask("GET", "/api/terminals")[0] == 404
    assert instructor.ask("GET", "/lsp/status")[0] == 404


def test_a_huge_file_is_refused(instructor):
    """The reader of hand-ins would not take it either."""
    status, told = instructor.api(
        "POST", "uploads?name=big.zip", body=b"\0" * (MAX_ZIP_BYTES + 1)
    )
    assert status == 413
    assert f"{MAX_ZIP_BYTES:,}" in told["message"]


def test_the_page_may_load_nothing_from_elsewhere(instructor):
    """Its policy names this server alone, and no script within the page."""
    instructor.ask("GET", "/desk")
    policy = instructor.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self';" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
