"""What all our handlers share, and those of the page, of work and of its end."""

from __future__ import annotations

import asyncio
import re
from pathlib import Path
from typing import Any

from jupyter_server.base.handlers import APIHandler, JupyterHandler
from tornado import web

from generator.desk.desk import Desk
from generator.desk.jobs import Job
from generator.desk.places import set_folder
from generator.desk.settings import keep_settings, settings_of
from generator.desk.told_errors import CONTENT_ERRORS, as_error
from workbook.texts import ENGLISH, use

PAGE = Path(__file__).parent / "page"
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; frame-src 'self'; font-src 'self'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
_PREVIEW = re.compile(r"[0-9a-f]{8}/preview\.ipynb")
_MENDABLE = 422  # of an answer that says what the instructor can mend


class DeskHandler(APIHandler):
    """Answers the page in JSON; knows the desk."""

    @property
    def desk(self) -> Desk:
        """The desk that is asked."""
        desk: Desk = self.settings["desk"]
        return desk

    def asked(self) -> dict[str, Any]:
        """Return what the page asks for; raises 400 where that is no JSON object."""
        body = self.get_json_body()
        if not isinstance(body, dict):
            raise web.HTTPError(400, "A JSON object is needed.")
        return body

    def answer(self, value: object) -> None:
        """Answer in JSON, which no browser keeps."""
        self.set_header("Cache-Control", "no-store")
        # Within an object, since Tornado sends no bare list: older browsers let other
        # sites read one (tornado.web, write).
        self.finish({"it": value})

    def write_error(self, status_code: int, **kwargs: Any) -> None:  # noqa: ANN401
        """Answer errors of content as data, all others as the library does."""
        error = kwargs.get("exc_info", (None, None))[1]
        if isinstance(error, CONTENT_ERRORS):
            self.set_status(_MENDABLE)
            self.finish(as_error(error))
        else:
            super().write_error(status_code, **kwargs)

    def log_exception(self, *told: Any) -> None:  # noqa: ANN401
        """Log our own faults only."""
        if not isinstance(told[1], CONTENT_ERRORS):
            super().log_exception(*told)


class PageHandler(JupyterHandler):
    """The page, and the scripts and styles that it loads: all from this machine."""

    content_security_policy = _POLICY

    @web.authenticated
    def get(self) -> None:
        """Give the page; it sets the cookie that its requests are checked by."""
        _ = self.xsrf_token
        self.settings["desk"].note_use()
        self.set_header("Cache-Control", "no-store")
        self.set_header("Referrer-Policy", "no-referrer")
        self.finish((PAGE / "index.html").read_bytes())


class PartHandler(JupyterHandler, web.StaticFileHandler):
    """A script, a style or texts of the page."""

    content_security_policy = _POLICY

    @web.authenticated
    async def get(  # type: ignore[override] # the decorator's
        self, path: str, include_body: bool = True
    ) -> None:
        """Give one file below the page's folder."""
        await web.StaticFileHandler.get(self, path, include_body)

    def set_extra_headers(self, path: str) -> None:  # noqa: ARG002 - the library's
        """Have it asked for each time: a newer Clampbook has newer scripts."""
        self.set_header("Cache-Control", "no-cache")
        if self.absolute_path and self.absolute_path.endswith(".js"):
            # Windows takes types from its registry, where programs leave theirs.
            self.set_header("Content-Type", "text/javascript; charset=utf-8")


class AliveHandler(DeskHandler):
    """Asked by the page while it is open, and by another start of the desk."""

    @web.authenticated
    def get(self) -> None:
        """Say that the desk runs, and get ready for work."""
        self.desk.note_use()
        self.desk.jobs.prepare()
        self.answer({"folder": str(self.desk.sets)})


class EndHandler(DeskHandler):
    """The button that ends the desk."""

    @web.authenticated
    async def post(self) -> None:
        """End the desk, after this answer; what works is stopped and taken back."""
        self.answer({"ended": True})
        await asyncio.to_thread(self.desk.jobs.stop_all)
        self.desk.end()


class SettingsHandler(DeskHandler):
    """What the desk remembers for its instructor."""

    @web.authenticated
    def get(self) -> None:
        """Give all that is remembered."""
        self.answer(settings_of(self.desk.sets))

    @web.authenticated
    def post(self) -> None:
        """Remember more; errors are told in the page's language from here on."""
        kept = keep_settings(self.desk.sets, self.asked())
        use(kept.get("language", ENGLISH))
        self.answer(kept)


class WorkHandler(DeskHandler):
    """Work that takes its time: begun here, and all of it listed."""

    @web.authenticated
    def get(self) -> None:
        """List what is and was done since the desk was started, without results."""
        self.desk.note_use()
        self.answer([job.named() for job in self.desk.jobs.all()])

    @web.authenticated
    def post(self) -> None:
        """Begin a piece of work; of a set that there is, or of none."""
        asked = self.asked()
        work, about = str(asked.get("work", "")), str(asked.get("set", ""))
        given = asked.get("asked") or {}
        if not isinstance(given, dict):
            raise web.HTTPError(400, "A JSON object is needed.")
        folder = str(set_folder(self.desk.sets, about)) if about else ""
        # What an earlier job has left for this one goes past the page.
        earlier = self.desk.jobs.get(str(given.get("goes_on", "")))
        kept = {"kept": earlier.kept if earlier else None}
        own = {
            "folder": folder,
            "sets": str(self.desk.sets),
            "uploads": str(self.desk.uploads),
            "previews": str(self.desk.previews),
            "downloads": str(self.desk.downloads),
        }
        job = self.desk.jobs.start(work, about, given | kept | own)
        self.answer(job.shown())


class JobHandler(DeskHandler):
    """One piece of work: how far it is, and the end of it."""

    def _job(self, job_id: str) -> Job:
        job = self.desk.jobs.get(job_id)
        if job is None:
            raise web.HTTPError(404, "This work is not known any more.")
        return job

    @web.authenticated
    def get(self, job_id: str) -> None:
        """Say how far it is."""
        self.desk.note_use()
        self.answer(self._job(job_id).shown())

    @web.authenticated
    def delete(self, job_id: str) -> None:
        """Tell it to stop."""
        job = self._job(job_id)
        job.stopping.set()
        self.answer(job.shown())


class PreviewHandler(DeskHandler):
    """A workbook to try in Notebook: a copy, and what is done in it is lost."""

    @web.authenticated
    def post(self) -> None:
        """Have Notebook ready, and give the address of the workbook in it."""
        name = str(self.asked().get("workbook", ""))
        if not _PREVIEW.fullmatch(name) or not (self.desk.previews / name).is_file():
            raise web.HTTPError(404)
        self.desk.preview_extension()
        self.answer({"address": f"notebooks/{name}"})
