"""Links as codes to cut out."""

import io

import lxml.html
import segno

from generator.paper.link_sheet import link_sheet
from generator.site.links import Link
from workbook.texts import speaking

LINKS = [
    Link(student="s01", name="Ada <Almer>", address="https://class.example/w3/#a1"),
    Link(student="s02", name="Bruno Dorn", address="https://class.example/w3/#b2"),
]


def test_every_student_has_a_card_with_name_id_code_and_address():
    """What a name holds is text."""
    page = lxml.html.document_fromstring(link_sheet(LINKS, "Week 3"))
    cards = page.find_class("card")
    assert [card.find_class("name")[0].text_content() for card in cards] == [
        "Ada <Almer>",
        "Bruno Dorn",
    ]
    assert all(len(card.findall(".//svg")) == 1 for card in cards)
    assert "https://class.example/w3/#b2" in cards[1].text_content()


def test_code_is_that_of_the_address():
    """Black parts of the picture are those of the code; it has white around it."""
    page = lxml.html.document_fromstring(link_sheet(LINKS[:1], "Week 3"))
    drawn = page.find_class("card")[0].find(".//path").get("d")
    code = segno.make(LINKS[0].address, error="m", micro=False)
    wanted = io.BytesIO()
    code.save(wanted, kind="svg", border=4, xmldecl=False)
    assert f'd="{drawn}"' in wanted.getvalue().decode()


def test_sheet_speaks_german():
    """Students get no other sheet of theirs in two languages."""
    with speaking("de"):
        text = link_sheet(LINKS, "Woche 3")
    assert 'lang="de"' in text
    assert "Links: Woche 3" in text
    assert "Cut the cards" not in text
