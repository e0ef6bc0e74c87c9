"""The desk as an application of Jupyter Server: settings, start, use and end.

Token, check of the host and guard against other sites' pages are the library's. Only
our handlers and, for previews, Notebook are in it: no terminals, no language servers,
and its lists of files end at a folder of previews, where nothing of a set lies.
"""

from __future__ import annotations

import logging
import os
import secrets
import time
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from jupyter_server.extension.application import ExtensionApp
from jupyter_server.serverapp import ServerApp
from tornado.ioloop import PeriodicCallback
from traitlets.config import Config

from generator.desk.addresses import ADDRESSES
from generator.desk.desk import Desk
from generator.desk.places import (
    Running,
    forget_running,
    found_running,
    note_running,
)
from generator.serving.jupyter import SETTINGS
from generator.site.shared import EXTENSIONS

UNUSED_MINUTES = 30
"""After so long without a page that is open, or work, a desk ends."""

_LOOK_EVERY_MS = 20_000
# Kernels of previews that nobody looks at.
_KERNEL_S = 600
_PAGE_BYTES = 60_000_000  # a body that is not read as it comes


class DeskServer(ServerApp):
    """A server with our settings, and none of this computer's, which may open it."""

    name = "clampbook-desk"

    @property
    def config_file_paths(self) -> list[str]:
        """Only what is ours."""
        return [str(SETTINGS)]


class DeskApp(ExtensionApp):
    """The desk of one folder of sets."""

    name = "clampbook_desk"
    extension_url = "/desk"
    load_other_extensions = False
    serverapp_class = DeskServer
    desk: Desk

    @classmethod
    def get_extension_package(cls) -> str:
        """Return the module that names this application to the server."""
        return cls.__module__

    def initialize_settings(self) -> None:
        """Put the desk where the handlers find it."""
        self.settings["desk"] = self.desk

    def initialize_handlers(self) -> None:
        """Add our addresses."""
        self.handlers.extend(ADDRESSES)

    def current_activity(self) -> bool:
        """Whether work is under way: then the desk is in use."""
        return self.desk.jobs.is_at_work


def _jupyter_server_extension_points() -> list[dict[str, Any]]:
    return [{"module": __name__, "app": DeskApp}]


def open_desk(
    sets: Path,
    *,
    port: int = 0,
    opens_browser: bool = True,
    started: Callable[[str], None] = lambda _: None,
) -> str | None:
    """Run the desk of a folder until it is ended; show one that runs already.

    Parameters
    ----------
    sets : pathlib.Path
        The folder of class sets; made where it is not there.
    port : int
        Port to listen on, on this machine alone; 0 takes a free one.
    opens_browser : bool
        Whether to open the page in the instructor's browser.
    started : callable
        Told the page's address once the desk listens.

    Returns
    -------
    str or None
        The page of a desk that was found running; None where this one ran and ended.
    """
    sets.mkdir(parents=True, exist_ok=True)
    running = found_running(sets)
    if running is not None:
        return running.page
    with TemporaryDirectory(prefix="clampbook-desk-") as own:
        desk = Desk(sets=sets.resolve(), own=Path(own))
        _run(desk, _config(desk, port, opens_browser), started)
    return None


def _run(desk: Desk, config: Config, started: Callable[[str], None]) -> None:
    # The server makes the application itself, so that nothing can be given to it.
    DeskApp.desk = desk
    # No options of whoever started this program are options of the server.
    server = DeskApp.initialize_server(argv=[], config=config)
    desk.server = server
    running = Running(
        address=server.connection_url, token=server.identity_provider.token
    )

    def listening() -> None:
        note_running(desk.sets, running)
        started(running.page)

    # Behind what binds the port: whoever reads the note is answered.
    server.io_loop.add_callback(listening)
    watch = PeriodicCallback(lambda: end_if_unused(desk), _LOOK_EVERY_MS)
    watch.start()
    try:
        server.start()
    finally:
        watch.stop()
        forget_running(desk.sets, running)
        desk.jobs.stop_all()
        # An application is one for a process, and a later desk needs one of its own.
        DeskServer.clear_instance()


def end_if_unused(desk: Desk) -> None:
    """End a desk whose page is closed for long, and that does nothing."""
    idle_s = time.monotonic() - desk.used_at
    if idle_s > UNUSED_MINUTES * 60 and not desk.jobs.is_at_work:
        desk.end()


def _config(desk: Desk, port: int, opens_browser: bool) -> Config:
    return Config(
        ServerApp={
            "ip": "127.0.0.1",
            "port": port,
            "port_retries": 20,
            "open_browser": opens_browser,
            "allow_remote_access": False,
            "allow_root": hasattr(os, "geteuid") and os.geteuid() == 0,
            "terminals_enabled": False,
            "root_dir": str(desk.previews),
            "max_body_size": _PAGE_BYTES,
            "max_buffer_size": _PAGE_BYTES,
            "log_level": logging.ERROR,
            "default_url": "/desk",
            # The browser is given a file that leads to the page: on a command line
            # other users of this machine could read the token.
            "use_redirect_file": True,
            # Ctrl-C ends it, as it does every command of ours, and asks nothing.
            "answer_yes": True,
        },
        # Ours, not one that this computer's settings or environment name.
        IdentityProvider={"token": secrets.token_hex(32)},
        MappingKernelManager={
            "cull_idle_timeout": _KERNEL_S,
            "cull_interval": 60,
        },
        FileContentsManager={"delete_to_trash": False},
        JupyterNotebookApp={"extra_labextensions_path": [str(EXTENSIONS)]},
    )
