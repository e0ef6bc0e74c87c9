"""What a site holds of each student: a workbook in a folder that nobody can guess."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from answer_keys.headway import Progress
from answer_keys.keys.class_secret import ClassSecret
from answer_keys.written_files import write_text
from generator.drawing.stream import Stream
from generator.sets.class_set import ClassSet
from generator.site.links import Link
from generator.site.shared import DIRECTORY

_HEX_DIGITS = 32


@dataclass(frozen=True, slots=True, kw_only=True)
class PrivateLink:
    """Where one student finds the workbook.

    Attributes
    ----------
    student, name : str
        Id and name as the class list has them.
    code : str
        Name of the folder: 128 bits that only the class secret can repeat.
    file : str
        Name of the workbook.
    """

    student: str
    name: str
    code: str
    file: str

    def at(self, site: str) -> Link:
        """Return the link as given out: the start page, with the code filled in."""
        address = f"{site.rstrip('/')}/#{self.code}"
        return Link(student=self.student, name=self.name, address=address)


def private_links(class_set: ClassSet, secret: ClassSecret) -> list[PrivateLink]:
    """Return the links of a class: for the same set, in any edition, the same ones."""
    return [
        PrivateLink(
            student=student.id,
            name=student.name,
            code=_code(Stream(secret.value, "site folder", student.id)),
            file=class_set.workbook_file(student.id).name,
        )
        for student in class_set.request.students
    ]


def _code(stream: Stream) -> str:
    return "".join(stream.choice("0123456789abcdef") for _ in range(_HEX_DIGITS))


def add_students(
    site: Path,
    class_set: ClassSet,
    links: list[PrivateLink],
    progress: Progress,
) -> None:
    """Add each workbook with a listing of its own; no other listing names it."""
    for number, link in enumerate(links, start=1):
        folder = site / "files" / link.code
        folder.mkdir()
        sizes = dict[str, int]()
        for name in class_set.workbook_names(link.student).values():
            source = class_set.workbook_file(link.student).with_name(name)
            text = _for_browser(source.read_text("utf-8"))
            write_text(folder / name, text)
            sizes[name] = len(text.encode())
        listing = site / "api" / "contents" / link.code
        listing.mkdir()
        write_text(listing / "all.json", _listing(link.code, sizes))
        progress("students", number, len(links))


def _for_browser(text: str) -> str:
    """Change the kernel to the browser's, which has another name."""
    notebook = json.loads(text)
    notebook["metadata"]["kernelspec"]["name"] = "python"
    return json.dumps(notebook, ensure_ascii=False, indent=1, sort_keys=True) + "\n"


def _listing(code: str, sizes: Mapping[str, int]) -> str:
    """List a student's workbooks; the main one comes first."""
    entries = [_entry(code, name, size) for name, size in sizes.items()]
    folder = {**DIRECTORY, "name": code, "path": code, "content": entries}
    return json.dumps(folder)


def _entry(code: str, name: str, size: int) -> dict[str, Any]:
    return {
        **DIRECTORY,
        "type": "notebook",
        "format": None,
        "name": name,
        "path": f"{code}/{name}",
        "size": size,
        "content": None,
    }
