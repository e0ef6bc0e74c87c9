"""What all classes of a plan tell together, and when it is made anew."""

import json

from tests.classes.school import run_here
from tests.cli.command import run


def told_of(folder):
    """Grade what is there, and have written what all classes tell."""
    # Here: of what is graded already the command starts no process.
    run_here(folder)
    told = run("classes", folder / "plan.toml", "--training", folder / "told")
    return "For the head of training:" in told.stderr


def test_page_for_the_head_of_training_is_made_where_more_is_graded(own):
    """It is what ``report --training`` writes, and stays until a class is graded."""
    first, second = own / "week" / "10a", own / "week" / "10b"
    page = own / "told" / "training-report.html"
    run("simulate", first, "--kinds=novice")
    assert told_of(own)
    text, written = page.read_text("utf-8"), page.stat().st_mtime_ns
    run("report", first, "--training", own / "alone")
    assert (own / "alone" / page.name).read_text("utf-8") == text
    assert not told_of(own)
    assert page.stat().st_mtime_ns == written
    run("simulate", second, "--kinds=expert")
    assert told_of(own)
    assert page.read_text("utf-8") != text
    # Whoever changes a mark of one class has its report written again.
    marks = own / "marks.csv"
    marks.write_text("student,exercise,step,mark,reason\na1,1,cause,0,guessed\n")
    run("grade", first, "--overrides", marks)
    assert told_of(own)
    assert not told_of(own)
    page.unlink()
    assert told_of(own)


def test_nothing_graded_is_no_fault(own):
    """The sets are written first, long before anybody hands in."""
    out = own / "told"
    result = run("classes", own / "plan.toml", "--training", out, "--json")
    assert json.loads(result.stdout)["training"] is None
    assert "Nothing is graded yet that the head of training" in result.stderr
    assert not out.exists()
