"""One circuit for a reader: its picture, the same in words, its specification sheet."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from functools import lru_cache
from html import escape

from generator.drawing.specification import Specification
from generator.pictures.labels import DiagramLabels, FuseLabel, WireLabel, WireLabels
from generator.pictures.schematic import Diagram, new_diagram
from workbook.texts import _, language


def image_markdown(svg: str, alt: str) -> str:
    """Show a picture where a workbook that nobody trusts still shows it."""
    return f'<img alt="{escape(alt)}" src="{data_uri(svg)}" width="760">'


def data_uri(svg: str) -> str:
    """Give a picture as the address of an image that needs no file.

    Parameters
    ----------
    svg : str
        SVG text.

    Returns
    -------
    str
        A ``data:`` address in base64.

    Examples
    --------
    >>> data_uri("<svg/>")
    'data:image/svg+xml;base64,PHN2Zy8+'
    """
    encoded = base64.b64encode(svg.encode()).decode("ascii")
    return f"data:image/svg+xml;base64,{encoded}"


def table_markdown(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Write rows under a head as a Markdown table."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join(f"| {' | '.join(_cell(c) for c in line)} |" for line in lines)


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


# Of all wires of the control circuit, as `new_specification` reckons their ohms.
_THIN_MM2 = 0.75


def circuit_markdown(specification: Specification) -> str:
    """Show the circuit as a picture, and the same circuit as a table."""
    diagram = diagram_of(specification)
    heading, head = (
        _("The circuit in words"),
        (_("part"), _("from"), _("to"), _("note")),
    )
    return (
        f"{image_markdown(diagram.svg, diagram.alt)}\n\n"
        f"### {heading}\n\n{table_markdown(head, diagram.rows)}"
    )


def diagram_of(specification: Specification) -> Diagram:
    """Draw the circuit, and put it in words."""
    return _drawn(_labels(specification), language())


# Notebook, page and key show the same, and a workbook's pages come before its keys.
@lru_cache(maxsize=64)
def _drawn(
    labels: DiagramLabels,
    spoken: str,  # noqa: ARG001 - what is kept is of one language
) -> Diagram:
    return new_diagram(labels)


def _labels(specification: Specification) -> DiagramLabels:
    names, nominal = specification.names, specification.nominal
    areas = {"load_feed": specification.area_mm2, "load_wire": specification.area_mm2}
    areas["load_ground"] = specification.area_mm2
    wires = {
        segment: WireLabel(colour=colour, area_mm2=areas.get(segment, _THIN_MM2))
        for segment, colour in names.colours.items()
    }
    load_fuse = FuseLabel(
        name=names.load_fuse, rating=f"{nominal.load_fuse_rating_a:g} A"
    )
    is_shared = specification.variant.fuses == "shared"
    own_fuse = FuseLabel(
        name=names.control_fuse, rating=f"{specification.control_fuse_a:g} A"
    )
    return DiagramLabels(
        variant=specification.variant,
        supply=_("{volts} V battery").format(volts=specification.family.system_v),
        upstream=names.upstream,
        control_fuse=load_fuse if is_shared else own_fuse,
        load_fuse=load_fuse,
        relay=names.relay,
        module=_("{module} control module").format(module=names.module),
        neighbour=names.neighbour,
        load=names.load,
        load_connector=names.load_connector,
        load_kind=specification.family.kind,
        suppression="diode" if nominal.has_diode else "resistor",
        wires=WireLabels(**wires),
        enable_inputs=names.enable,
    )


def sheet_markdown(specification: Specification) -> str:
    """Write the specification sheet as a Markdown table."""
    head = (_("quantity"), _("value"), _("tolerance"))
    return table_markdown(head, sheet_rows(specification))


def places_markdown(specification: Specification) -> str:
    """Write where things are as a Markdown list.

    Minutes are paid once: a place that was reached stays open.
    """
    line = _("**{place}**, {minutes} min: {where}.")
    lines = [
        line.format(place=p.label, minutes=f"{p.minutes:g}", where=p.where)
        for p in specification.places
    ]
    risks = [place.risk for place in specification.places]
    both = zip(lines, risks, strict=True)
    return "\n".join(f"- {text} {risk}".rstrip() for text, risk in both)


def sheet_rows(specification: Specification) -> list[tuple[str, str, str]]:
    """Write each row of the specification sheet: quantity, value, tolerance."""
    return [
        (
            row.quantity,
            f"{row.value:g} {row.unit}",
            f"± {row.tolerance_percent:g} %" if row.tolerance_percent else "",
        )
        for row in specification.sheet
    ]
