"""The desk itself: the folder of sets, its work, and what it keeps while it runs."""

from __future__ import annotations

import time
from pathlib import Path

from jupyter_server.serverapp import ServerApp

from generator.desk.jobs import Jobs


class Desk:
    """One instructor's desk, as long as it runs.

    Attributes
    ----------
    sets : pathlib.Path
        The folder that holds the class sets, one folder each.
    previews, uploads, downloads : pathlib.Path
        Folders of this run, removed with it: copies of workbooks to try, files that
        were dropped on the page and have not found their place yet, and files for the
        instructor to keep.
    """

    def __init__(self, *, sets: Path, own: Path) -> None:
        self.sets = sets
        self.previews = own / "previews"
        self.uploads = own / "uploads"
        self.downloads = own / "downloads"
        for folder in (self.previews, self.uploads, self.downloads):
            folder.mkdir()
        self.jobs = Jobs()
        self.used_at = time.monotonic()
        self.server: ServerApp | None = None

    def note_use(self) -> None:
        """Note that a page is open: whoever looks at the desk uses it."""
        self.used_at = time.monotonic()

    def preview_extension(self) -> None:
        """Load Notebook, when a preview is first asked for: it takes a second."""
        assert self.server is not None  # noqa: S101 - a running desk has one
        manager = self.server.extension_manager
        if "notebook" not in manager.extensions:
            manager.add_extension("notebook", enabled=True)
            manager.link_extension("notebook")
            manager.load_extension("notebook")

    def end(self) -> None:
        """End the desk, and with it all that it runs."""
        if self.server is not None:
            self.server.stop()
