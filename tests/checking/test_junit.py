"""The report for build servers has the form that they read.

The rules are those of ``junit-10.xsd`` of the Jenkins xUnit plugin, 2014, read in the
copy that pytest keeps (``testing/example_scripts/junit-10.xsd``).
"""

from xml.etree import ElementTree

from generator.checking.validation import Validation, junit_text

FOUND = Validation(
    workbooks={"for-students/s01/a.ipynb": [], "for-students/<&\x07>": ["is <odd>"]},
    exercises={"s01 exercise 1": ["one & two", "three\x00"], "s01 exercise 2": []},
    whole={"difficulty": []},
)
# By element: attributes that must be there, others that may, elements inside.
RULES = {
    "testsuites": (set(), {"name", "time", "tests", "failures", "errors"}),
    "testsuite": ({"name", "tests", "failures", "errors"}, {"time", "skipped"}),
    "testcase": ({"name"}, {"time", "classname"}),
    "failure": (set(), {"type", "message"}),
}
INSIDE = {
    "testsuites": {"testsuite"},
    "testsuite": {"testcase"},
    "testcase": {"failure"},
    "failure": set(),
}


def report(found=FOUND):
    """The report, read by the standard library."""
    return ElementTree.fromstring(junit_text(found.groups))


def test_report_keeps_the_published_rules():
    """Every element has what the schema asks for and nothing that it does not know."""
    assert report().tag == "testsuites"
    for element in report().iter():
        needed, allowed = RULES[element.tag]
        assert needed <= set(element.attrib) <= needed | allowed
        assert {inner.tag for inner in element} <= INSIDE[element.tag]


def test_every_exercise_and_file_is_a_case():
    """Suites count their cases and those that failed."""
    counts = {
        suite.get("name"): (suite.get("tests"), suite.get("failures"), len(suite))
        for suite in report()
    }
    assert counts == {
        "workbooks": ("2", "1", 2),
        "exercises": ("2", "1", 2),
        "class": ("1", "0", 1),
    }


def test_failures_carry_their_text():
    """Signs that XML does not allow are written out, and all problems are there."""
    failed = {
        case.get("name"): (failure.get("message"), failure.text)
        for case in report().iter("testcase")
        for failure in case
    }
    assert failed == {
        r"for-students/<&\u0007>": ("is <odd>", "is <odd>"),
        "s01 exercise 1": ("one & two", "one & two\nthree\\u0000"),
    }
