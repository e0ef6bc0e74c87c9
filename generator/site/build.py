"""Writes the site of a class set: the shared part, then each student's."""

from __future__ import annotations

import shutil
from pathlib import Path

from answer_keys.headway import Progress
from answer_keys.keys.class_secret import ClassSecret
from answer_keys.written_files import write_text
from generator.errors import SiteError
from generator.filled_page import filled_page
from generator.sets.class_set import ClassSet
from generator.sets.drafts import abandoned, draft_of
from generator.site.shared import shared_part
from generator.site.students import PrivateLink, add_students, private_links
from workbook.texts import speaking

_PAGE = Path(__file__).parent / "pages" / "index.html"


def start_page(spoken: str) -> str:
    """Write the page as HTML.

    Parameters
    ----------
    spoken : str
        One of `workbook.texts.LANGUAGES`.
    """
    with speaking(spoken):
        return filled_page(_PAGE)


_MARK = "clampbook-site.txt"
_MARK_TEXT = (
    "Written by 'clampbook site'. Put the whole folder on any web server with https.\n"
)


def default_folder(class_set: ClassSet) -> Path:
    """Return where a set's site lies, unless told otherwise."""
    return class_set.folder / "site"


def write_site(
    class_set: ClassSet,
    secret: ClassSecret,
    out: Path,
    progress: Progress = lambda *_: None,
) -> list[PrivateLink]:
    """Write the site of a class set; under its name the older or the new one is whole.

    Stopped between two renamings, it leaves none; the next run puts the older one back.

    Parameters
    ----------
    class_set : ClassSet
        Its workbooks are taken as they are on disk.
    secret : ClassSecret
        The private folders are drawn from it.
    out : pathlib.Path
        A folder that does not exist yet, or an older site, which is replaced.

    Returns
    -------
    list of PrivateLink
        One a student, in the order of the class list.

    Raises
    ------
    SiteError
        Where something needed is missing, or the folder holds other things.
    """
    draft = draft_of(out)
    _drop_abandoned(out)
    _settle(out, draft)
    if out.exists() and not (out / _MARK).is_file():
        raise SiteError(
            f"{out}: exists already and is no site of ours. Choose a new name, or a "
            "folder that 'clampbook site' has written."
        )
    links = private_links(class_set, secret)
    try:
        shutil.copytree(shared_part(progress), draft)
        add_students(draft, class_set, links, progress)
        page = start_page(class_set.request.language)
        write_text(draft / "index.html", page)
        write_text(draft / _MARK, _MARK_TEXT)
        if out.exists():
            out.rename(_aside(out))
        draft.rename(out)
    finally:
        _settle(out, draft)
    return links


def _aside(out: Path) -> Path:
    """Where the older site stands while the new one takes its name."""
    return out.with_name(f".{out.name}.old")


def _settle(out: Path, draft: Path) -> None:
    """Leave one whole site under the name, and nothing beside it.

    Also where this or an earlier run was stopped while the older site stood aside.
    """
    shutil.rmtree(draft, ignore_errors=True)
    old = _aside(out)
    if (old / _MARK).is_file():
        # Half deleted, it would be taken for a site: so it gets the name of a draft.
        old.rename(draft if out.exists() else out)
        shutil.rmtree(draft, ignore_errors=True)


def _drop_abandoned(out: Path) -> None:
    """Remove what runs that were killed left of a site with this name."""
    for draft in abandoned(out.parent):
        if draft.name.startswith(f".{out.name}.part-"):
            shutil.rmtree(draft, ignore_errors=True)
