"""Every fault and every test has a name that holds for all vehicles."""

import pytest

from answer_keys.reports.general_names import fault_name, test_name
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from workbook.texts import speaking


@pytest.mark.parametrize(
    "name",
    [*(fault_name(one, "") for one in FAULTS), *(test_name(one, "") for one in TESTS)],
)
def test_names_have_no_gap(name):
    """A report would stop at a word that it cannot fill in."""
    assert name
    assert "{" not in name


@pytest.mark.parametrize(
    ("id_", "language", "name"),
    [
        (
            "recorded_ground",
            "en",
            "Recorded minimum current: ground wire of the load moved",
        ),
        (
            "recorded_ground",
            "de",
            "Kleinster Strom, nur Masseleitung des Verbrauchers bewegt",
        ),
        ("unplug_switch", "de", "Steuergerät abstecken: Geht der Verbraucher aus?"),
        ("feel_relay", "de", "Fühlen und hören, ob das Relais klickt"),
        ("pull_relay", "de", "Relais ziehen: Geht der Verbraucher aus?"),
    ],
)
def test_names_read_as_sentences_do(id_, language, name):
    """Where a designation is left out, no preposition and no wrong case is left."""
    with speaking(language):
        assert test_name(id_, "") == name


def test_german_faults_take_an_article_in_its_case():
    """A module that commands is in the nominative."""
    with speaking("de"):
        assert fault_name("switch_open", "") == "Der Schalter im Steuergerät leitet nie"
        stuck = "Ein Eingang hängt, sodass das Steuergerät ohne Anforderung ansteuert"
        assert fault_name("command_stuck", "") == stuck
