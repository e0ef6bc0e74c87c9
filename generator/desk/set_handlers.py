"""The sets of the desk: all of them, or one, with the step that it stands at."""

from __future__ import annotations

import asyncio
from importlib import import_module
from pathlib import Path
from typing import Any

from tornado import web

from generator.desk.handlers import DeskHandler
from generator.desk.places import set_folder, set_names


def _standing(folder: Path) -> dict[str, Any]:
    # By name, as commands are: it takes a second to load, and the page comes before.
    told: dict[str, Any] = import_module("generator.desk.standing").standing_of(folder)
    return told


class SetsHandler(DeskHandler):
    """All sets."""

    @web.authenticated
    async def get(self) -> None:
        """List every set with the step that it stands at."""
        self.desk.note_use()
        sets = self.desk.sets
        found = await asyncio.to_thread(
            lambda: [_standing(sets / name) for name in set_names(sets)]
        )
        self.answer({"folder": str(sets), "sets": found})


class SetHandler(DeskHandler):
    """One set."""

    @web.authenticated
    async def get(self, name: str) -> None:
        """Give one set with the step that it stands at."""
        folder = set_folder(self.desk.sets, name)
        self.answer(await asyncio.to_thread(_standing, folder))
