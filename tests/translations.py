"""Bring the catalogues of translations up to date: python -m tests.translations.

Every text of ours gets an entry in each ``workbook/locale/LANGUAGE/LC_MESSAGES/
clampbook.po``, where a translator fills in what is empty; run again, it is compiled to
the ``.mo`` beside it, which is what the workbook reads, and to ``texts-LANGUAGE.json``
beside the scripts of the site and of the desk, which is what those read.
"""

import json
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from generator.desk.handlers import PAGE as DESK
from generator.site.shared import EXTENSIONS
from tests.translated_data import data_texts
from workbook.texts import DOMAIN, ENGLISH, LANGUAGES, LOCALE

ROOT = Path(__file__).parents[1]
FOLDERS = ("workbook", "generator", "answer_keys")
METHODS = [
    ("**.py", "python"),
    ("**/site/**.js", "javascript"),
    ("**/desk/page/**.js", "javascript"),
    ("**/pages/*.html", "jinja2"),
    ("**/templates/*.j2", "jinja2"),
]
# A text may stand within another one: `${_("Exercise {n}")}: ...`.
OPTIONS = {"**.js": {"parse_template_string": "True"}}
KEYWORDS = {"_": None, "later": None, "ngettext": (1, 2)}
# Always the same, so that the same texts give the same file.
DATE = datetime(2026, 1, 1, tzinfo=UTC)


def template():
    """Every text that is to be translated, with where it stands."""
    found = Catalog(
        project="clampbook", creation_date=DATE, charset="utf-8", fuzzy=False
    )
    for folder in FOLDERS:
        texts = extract_from_dir(ROOT / folder, METHODS, OPTIONS, keywords=KEYWORDS)
        for file, _, message, _, _ in texts:
            found.add(message, locations=[(f"{folder}/{file}", None)])
    for source, text in data_texts():
        found.add(text, locations=[(source, None)])
    return found


def po_file(language):
    """What translators edit."""
    return LOCALE / language / "LC_MESSAGES" / f"{DOMAIN}.po"


def read_catalogue(language):
    """One language's translations as they are on disk."""
    with po_file(language).open("rb") as file:
        return read_po(file, locale=language)


def updated(language):
    """The same with an entry for every text there is, and no other."""
    catalogue = read_catalogue(language)
    catalogue.update(template(), no_fuzzy_matching=True)
    catalogue.obsolete.clear()
    catalogue.revision_date = DATE
    catalogue.last_translator = catalogue.language_team = catalogue.project
    catalogue.msgid_bugs_address = ""
    catalogue.fuzzy = False
    return catalogue


def po_bytes(catalogue):
    """The file that translators edit."""
    out = BytesIO()
    write_po(out, catalogue, width=88, sort_by_file=True, include_lineno=False)
    return out.getvalue()


def mo_bytes(catalogue):
    """The file that the workbook reads."""
    out = BytesIO()
    write_mo(out, catalogue)
    return out.getvalue()


def script_texts(catalogue, room):
    """The file that the scripts of a room read: what they say in a language."""
    said = {
        message.id: message.string
        for message in catalogue
        if message.string
        and any(
            name.endswith(".js") and name.startswith(f"{room}/")
            for name, _ in message.locations
        )
    }
    return json.dumps(said, ensure_ascii=False, indent=1, sort_keys=True) + "\n"


def script_files(language):
    """Where the scripts of each room find it, beside them."""
    name = f"texts-{language}.json"
    return {
        "generator/site": EXTENSIONS / "clampbook" / "static" / name,
        "generator/desk": DESK / name,
    }


def main():
    """Write all files of every language."""
    for language in LANGUAGES:
        if language == ENGLISH:
            continue
        catalogue = updated(language)
        po_file(language).write_bytes(po_bytes(catalogue))
        po_file(language).with_suffix(".mo").write_bytes(mo_bytes(catalogue))
        for room, file in script_files(language).items():
            file.write_text(script_texts(catalogue, room), "utf-8")


if __name__ == "__main__":
    main()
