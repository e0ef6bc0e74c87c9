"""Names of tests and faults that hold for every vehicle of a class; pure."""

from __future__ import annotations

import re

from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.catalogue.wrong_state import WRONG_STATES
from workbook.texts import _, later

_TITLES = {test.id: test.title for test in TESTS.values()} | {
    wrong.test.id: wrong.test.title for wrong in WRONG_STATES
}
_WORDS = {
    "relay": later("the relay"),
    "hindrance": later("something in its way"),
    "load": later("load"),
    "neighbour": later("neighbour"),
    "mechanism": later("mechanism"),
    "module": later("the module"),
    "coil_supply": "86",
    "coil_return": "85",
    "feed_from": later("fuse or driver"),
    "return_to": later("to module or ground"),
    "upstream": later("switch or relay before it"),
}


def fault_name(id_: str, given: str) -> str:
    """Name a fault without the designations of one vehicle.

    Parameters
    ----------
    given : str
        Its name in one exercise, which tells the terminals there; and all that there is
        of a fault that is not in the catalogue.

    Examples
    --------
    >>> fault_name("contacts_open", ""), fault_name("load_open", "")
    ('The contacts of the relay do not close', 'The load is open inside')
    """
    title = FAULTS[id_].title if id_ in FAULTS else ""
    return _general(_(title), _pins_in(given)) if title else given


def test_name(id_: str, given: str) -> str:
    """Name a test without the designations of one vehicle.

    Examples
    --------
    >>> test_name("look_load_fuse", "")
    'Look at load fuse'
    """
    return _general(_(_TITLES[id_]), _pins_in(given)) if id_ in _TITLES else given


test_name.__test__ = False  # type: ignore[attr-defined] # not a test of pytest's


def _pins_in(given: str) -> dict[str, str]:
    """Terminals that a title speaks of: those of a relay, or of a smart switch."""
    is_smart = re.search(r"\b(B1|Q1)\b", given) is not None
    pin_in, pin_out = ("B1", "Q1") if is_smart else ("30", "87")
    return {"pin_in": pin_in, "pin_out": pin_out}


def _general(title: str, pins: dict[str, str]) -> str:
    title = title.replace(_("of relay {relay}"), _("of the relay"))
    title = title.replace("relay {relay}", "the relay")
    title = title.replace(" at {relay}", "").replace(" at {load_fuse}", "")
    # A translated name may have what it is of in parentheses, behind a word for it.
    title = re.sub(r" \(\{\w+\}\)|(?<=Relais|.Platz) \{relay\}", "", title)
    title = re.sub(r"(?<=gerät|eräts) \{module\}", "", title)
    title = re.sub(r" \{(control_fuse|load_fuse|load_connector)\}", "", title)
    return title.format_map({name: _(word) for name, word in _WORDS.items()} | pins)
