"""What a validation found, as a report in the JUnit format that build servers read.

References
----------
``junit-10.xsd`` of the Jenkins xUnit plugin, 2014 (read in the copy that pytest keeps,
``testing/example_scripts/junit-10.xsd``): the elements and attributes used here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from answer_keys.visible_text import visible

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["junit_text"]


def junit_text(groups: Mapping[str, Mapping[str, Sequence[str]]]) -> str:
    """Write the report: one case an exercise and one a file, failures with their text.

    Times are left out, so that the same set gives the same report.

    Parameters
    ----------
    groups : mapping
        What was checked, by group and by what it is: its problems, none where sound.
    """
    suites = Element("testsuites", name="clampbook validate")
    for name, cases in groups.items():
        if cases:
            suites.append(_suite(name, cases))
    indent(suites)
    return str(tostring(suites, encoding="unicode", xml_declaration=False)) + "\n"


def _suite(name: str, cases: Mapping[str, Sequence[str]]) -> Element:
    failures = sum(1 for problems in cases.values() if problems)
    suite = Element(
        "testsuite",
        name=name,
        tests=str(len(cases)),
        failures=str(failures),
        errors="0",
    )
    for place, problems in cases.items():
        case = SubElement(suite, "testcase", name=visible(place), classname=name)
        if problems:
            # Signs that do not show are not allowed in XML at all.
            texts = [visible(problem) for problem in problems]
            failure = SubElement(case, "failure", type="unsound", message=texts[0])
            failure.text = "\n".join(texts)
    return suite
