"""Which handler answers at which address of the desk."""

from __future__ import annotations

from typing import Any

from generator.desk.file_handlers import (
    DownloadHandler,
    ShownHandler,
    UploadHandler,
)
from generator.desk.handlers import (
    PAGE,
    AliveHandler,
    EndHandler,
    JobHandler,
    PageHandler,
    PartHandler,
    PreviewHandler,
    SettingsHandler,
    WorkHandler,
)
from generator.desk.set_handlers import SetHandler, SetsHandler
from generator.site.shared import EXTENSIONS

# The one that students' pages are translated by, too.
_TEXTS = {"path": str(EXTENSIONS / "clampbook" / "static")}

ADDRESSES: tuple[tuple[Any, ...], ...] = (
    (r"/desk/?", PageHandler),
    (r"/desk/page/(texts\.js)", PartHandler, _TEXTS),
    (r"/desk/page/(.*)", PartHandler, {"path": str(PAGE)}),
    (r"/desk/api/alive", AliveHandler),
    (r"/desk/api/end", EndHandler),
    (r"/desk/api/settings", SettingsHandler),
    (r"/desk/api/work", WorkHandler),
    (r"/desk/api/work/([0-9a-f]{16})", JobHandler),
    (r"/desk/api/preview", PreviewHandler),
    (r"/desk/api/sets", SetsHandler),
    (r"/desk/api/sets/([^/]+)", SetHandler),
    (r"/desk/api/uploads", UploadHandler),
    (r"/desk/shown/([^/]+)/(.+)", ShownHandler),
    (r"/desk/downloads/([0-9a-f]{16})/([^/]+)", DownloadHandler),
)
