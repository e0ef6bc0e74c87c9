"""The pictures of exercises: each family's circuit built in every way, and screens."""

from dataclasses import replace
from itertools import product

from generator.drawing.specification import new_specification
from generator.drawing.stream import Stream
from generator.model.catalogue.tests import TESTS, tests_for
from generator.model.catalogue.wrong_state import wrong_states_for
from generator.model.variant import Variant
from generator.paper.slips import slips_of
from generator.pictures.circuit_text import diagram_of
from generator.workbooks.signs import signs_of, spot_of
from lessons.loader import LESSONS_FOLDER, read_part
from tests.drawn import BOOK, workbooks
from workbook.record.plain import plain
from workbook.texts import LANGUAGES, speaking

PARTS = sorted((LESSONS_FOLDER / "parts").glob("*.toml"))
VARIANTS = [
    Variant(
        fuses=fuses,
        drive=drive,
        coil_supply=pin,
        terminals=terminals,
        upstream=upstream,
        supply=supply,
    )
    for fuses, drive, pin, terminals, upstream, supply in product(
        ("two", "shared"),
        ("low side", "high side"),
        ("86", "85"),
        (4, 5),
        ("bus bar", "ignition switch", "main relay"),
        ("charging", "battery only"),
    )
]

# Beside all else, a neighbour at the ground point of loads that are small enough.
VARIANTS += [
    replace(variant, ground="shared")
    for variant in VARIANTS
    if variant.upstream == "bus bar" and variant.supply == "charging"
]
# A smart switch, with and without contacts before it and a neighbour behind it.
VARIANTS += [
    Variant(switch="smart", upstream=upstream, ground=ground)
    for upstream, ground in product(("bus bar", "main relay"), ("own", "shared"))
]


def diagrams(step):
    """One of so many diagrams of all families, variants and languages, as SVG.

    A step that shares no divisor with their numbers takes some of each.
    """
    ways = [*product(PARTS, VARIANTS, LANGUAGES)]
    return [_diagram(*way) for way in ways[::step]]


def _diagram(part, variant, language):
    with speaking(language):
        return diagram_of(_specification(part, variant)).svg


def _specification(part, variant):
    family = read_part(part)
    stream = Stream(bytes(32), "pictures", family.id, str(variant))
    return new_specification(BOOK.lesson, family, variant, stream)


def marked(step):
    """One of so many diagrams with all that a page marks on it, as JSON values."""
    ways = [*product(PARTS, VARIANTS, LANGUAGES)]
    return [_marked(*way) for way in ways[::step]]


def _marked(part, variant, language):
    """A diagram with a reading of every test there is, and how each is done."""
    with speaking(language):
        specification = _specification(part, variant)
        drawn, nominal = diagram_of(specification), specification.nominal
        proper = tests_for(nominal, TESTS, is_stressed=False)
        names = {test.id for test in proper}
        wrong = wrong_states_for(nominal, names, "does nothing")
        tests = [*proper, *(each.test for each in wrong)]
        is_shared = variant.fuses == "shared"
        return {
            "circuit": {
                "svg": drawn.svg,
                "alt": drawn.alt,
                "spots": [
                    {**plain(spot), "flags": [[*plain(f).values()] for f in spot.flags]}
                    for spot in drawn.spots
                ],
                "signs": {
                    test.id: [
                        [one.kind, one.at]
                        for one in signs_of(test, is_shared=is_shared)
                    ]
                    for test in tests
                },
            },
            "readings": [
                {
                    "number": number,
                    "at": spot_of(test, is_shared=is_shared),
                    "text": _WORDS if test.is_by_eye else _WIDEST,
                }
                for number, test in enumerate(tests, 1)
            ],
        }


_WORDS, _WIDEST = "The element of the fuse is whole", "-188.88 mV"


def screens(language):
    """The screens of scopes in the workbooks of a small class."""
    with speaking(language):
        slips = [slip for book in workbooks("practice") for slip in slips_of(book)]
    return [slip.picture.svg for slip in slips if slip.picture is not None]
