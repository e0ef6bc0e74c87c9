"""An instructor's own lesson: begun, checked with all its faults, drawn from."""

import pytest

from tests.cli.command import error_of, json_of, run


@pytest.fixture
def own_lesson(tmp_path):
    """The start of a lesson, as it is written."""
    run("lessons", "new", tmp_path / "my-pumps")
    return tmp_path / "my-pumps"


def changed(path, old, new):
    """Change one place of a file, which must be there."""
    text = path.read_text("utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_new_lesson_is_sound_and_can_be_drawn_from(own_lesson, tmp_path):
    """What is written needs no change before the first class set."""
    found = json_of("lessons", "check", own_lesson)
    assert found["sound"]
    assert len(found["drawn"]) == 3
    part = own_lesson / "parts" / "my-pumps-part.toml"
    assert json_of("lessons", "check", part)["sound"]
    made = json_of(
        *("generate", "--lessons", own_lesson, "--students=1", "--exercises=1"),
        *("--out", tmp_path / "set"),
    )
    assert made["mode"] == "practice"


def test_new_lesson_never_overwrites(own_lesson):
    """A name that is taken, or cannot be one, is refused with what to do."""
    assert "never overwritten" in error_of("lessons", "new", own_lesson)
    error = error_of("lessons", "new", own_lesson.with_name("My Pumps"))
    assert "Choose 2 to 35 small letters" in error


def test_faults_of_lesson_and_part_are_listed_together(own_lesson):
    """Each stands with its own file and line."""
    part = own_lesson / "parts" / "my-pumps-part.toml"
    changed(own_lesson / "lesson.toml", 'tests = "all"', 'tests = ["smell"]')
    changed(part, 'kind = "pump motor"', 'kind = "steam engine"')
    found = json_of("lessons", "check", own_lesson, code=1)
    assert not found["sound"]
    files = {problem["file"] for problem in found["problems"]}
    assert files == {str(own_lesson / "lesson.toml"), str(part)}
    assert all(problem["line"] > 1 for problem in found["problems"])


def test_every_place_of_the_text_that_cannot_be_filled_is_told(own_lesson):
    """Each has its line, and what an example can be asked for."""
    text = own_lesson / "lesson.md"
    changed(text, "{{ pump.sheet }}", "{{ pump.shet }}\n{{ crane.sheet }}")
    problems = json_of("lessons", "check", own_lesson, code=1)["problems"]
    assert [(p["file"], p["line"]) for p in problems] == [
        (str(text), 6),
        (str(text), 7),
    ]
    assert "no 'shet'. Ask for one of amount, band" in problems[0]["message"]
    assert "'crane' is undefined" in problems[1]["message"]


def test_part_file_is_checked_alone(own_lesson):
    """A part file at fault is told without any lesson."""
    part = own_lesson / "parts" / "my-pumps-part.toml"
    changed(part, 'id = "my-pumps-part"', 'id = "other"')
    result = run("lessons", "check", part, code=1)
    assert "id: it is 'other'. Write the file's name" in result.stderr


def test_lesson_that_is_not_there_is_told(tmp_path):
    """A folder without a lesson is a fault of content, not of the program."""
    result = run("lessons", "check", tmp_path / "nothing", code=1)
    assert "a folder that holds lesson.toml" in result.stderr
