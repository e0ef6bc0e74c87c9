"""The pictures of exercises: each family's circuit built in every way, and screens."""

from itertools import product

from generator.drawing.specification import new_specification
from generator.drawing.stream import Stream
from generator.model.variant import Variant
from generator.paper.slips import slips_of
from generator.pictures.circuit_text import diagram_of
from lessons.loader import LESSONS_FOLDER, read_part
from tests.drawn import BOOK, workbooks
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


def diagrams(step):
    """One of so many diagrams of all families, variants and languages, as SVG.

    A step that shares no divisor with their numbers takes some of each.
    """
    ways = [*product(PARTS, VARIANTS, LANGUAGES)]
    return [_diagram(*way) for way in ways[::step]]


def _diagram(part, variant, language):
    with speaking(language):
        family = read_part(part)
        stream = Stream(bytes(32), "pictures", family.id, str(variant))
        specification = new_specification(BOOK.lesson, family, variant, stream)
        return diagram_of(specification).svg


def screens(language):
    """The screens of scopes in the workbooks of a small class."""
    with speaking(language):
        slips = [slip for book in workbooks("practice") for slip in slips_of(book)]
    return [slip.picture.svg for slip in slips if slip.picture is not None]
