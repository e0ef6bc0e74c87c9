"""The fault chart: computed, complete, and the copy in the lessons up to date."""

from generator.model.catalogue.faults import FAULTS
from generator.model.variant import Variant
from lessons.loader import LESSONS_FOLDER, read_lesson
from tests.circuits import FAN, smart
from tests.upkeep.fault_chart import (
    chart_text,
    shared_ground_text,
    smart_switch_text,
    whole_text,
)

BOOK = read_lesson("mixed-diagnosis")


def test_chart_in_the_lessons_is_what_the_model_says():
    """Whoever changes the model prints the chart again."""
    copy = (LESSONS_FOLDER / "fault-chart.md").read_text(encoding="utf-8")
    is_current = whole_text() == copy
    assert is_current, (
        "run: python -m tests.upkeep.fault_chart > lessons/fault-chart.md"
    )


def test_chart_has_every_fault_that_can_happen_to_the_circuit():
    """Intermittent, double and advanced faults too; none of what another has alone."""
    text = chart_text(BOOK, "cooler-fan", Variant())
    lines = [line for line in text.splitlines() if line.startswith("- **")]
    possible = [
        fault
        for fault in FAULTS.values()
        if "fan motor" in fault.kinds and fault.applies(FAN)
    ]
    assert len(lines) == len(possible)


def test_chart_of_a_smart_switch_has_its_faults_and_codes():
    """Every fault that can happen there, and a code where there is one."""
    text = smart_switch_text(BOOK)
    lines = [line for line in text.splitlines() if line.startswith("- **")]
    possible = [
        fault
        for fault in FAULTS.values()
        if "fan motor" in fault.kinds and fault.applies(smart(FAN))
    ]
    assert len(lines) == len(possible)
    assert "| Read the fault codes of" in text
    assert {"overcurrent", "open load", "no supply"} <= {
        word.strip() for word in text.split("|")
    }


def test_chart_of_another_variant_names_its_own_terminals():
    """With the supply at 85 the coil's supply is measured there."""
    text = chart_text(BOOK, "wiper-heater", Variant(coil_supply="85", fuses="shared"))
    assert "Voltage at terminal 85 | supply voltage" in text
    assert "Both currents at the fuse" in text


def test_chart_sets_a_shared_ground_point_beside_a_ground_of_its_own():
    """One line tells them apart: nothing flows once the neighbour is unplugged."""
    rows = [
        line.strip("| ").split(" | ")
        for line in shared_ground_text(BOOK).splitlines()
        if line.startswith("| ")
    ]
    _, *tests = rows
    assert [row[0] for row in tests if row[2] != row[3]] == [
        "Load current with the left work lamps unplugged"
    ]
