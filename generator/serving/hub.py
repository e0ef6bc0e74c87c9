"""Class sets as a service of a JupyterHub, whose login tells who is who.

Every user gets the pages that all share and their own workbook, and nobody else's; what
they hand in is kept under their own id, whatever a file says.
"""

from __future__ import annotations

import os
from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from urllib.parse import urlsplit

from jupyterhub.services.auth import HubOAuthCallbackHandler, HubOAuthenticated
from tornado.httpserver import HTTPServer
from tornado.ioloop import IOLoop
from tornado.web import (
    Application,
    HTTPError,
    RequestHandler,
    StaticFileHandler,
    authenticated,
)

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.limits import MAX_HAND_IN_BYTES
from generator.filled_page import filled_page
from generator.serving.web import FILE_TYPES, SITE_HEADERS, policy_of
from generator.site.students import PrivateLink
from workbook.texts import _, speaking

_PAGE = Path(__file__).parent / "pages" / "hub.html"
# The page has a form of its own, a style, and nothing else.
_PAGE_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)
_FORM_BYTES = 20_000  # what a form needs around the file that it sends


@dataclass(frozen=True, slots=True, kw_only=True)
class HubSet:
    """A class set as the users of a hub see it.

    Attributes
    ----------
    id, title : str
        The first stands in addresses, the second on the page.
    site : pathlib.Path
        The folder of its site.
    links : mapping of str to PrivateLink
        By the name that the hub gives a user, in `str.casefold`.
    take : callable
        Keeps what a student hands in, given as id and bytes; raises a `RefusedError`
        with a sentence for the student.
    taken : callable
        When a student has handed in, by id, the newest last.
    """

    id: str
    title: str
    language: str
    site: Path
    links: Mapping[str, PrivateLink]
    take: Callable[[str, bytes], None]
    taken: Callable[[str], Sequence[datetime]]

    def link_of(self, user: str) -> PrivateLink | None:
        """Find the link of a user; None where the set has no such student."""
        return self.links.get(user.casefold())


class _Own(HubOAuthenticated, RequestHandler):
    """What a user of the hub gets, and nobody who has not logged in."""

    @property
    def sets(self) -> Mapping[str, HubSet]:
        return self.settings["sets"]  # type: ignore[no-any-return]  # tornado's

    @property
    def user(self) -> str:
        return str(self.current_user["name"])

    def own(self, set_id: str) -> tuple[HubSet, PrivateLink]:
        """Give a set of the user's with their link, or say that there is none."""
        its = self.sets.get(set_id)
        link = None if its is None else its.link_of(self.user)
        if its is None or link is None:
            raise HTTPError(404)
        return its, link

    def set_default_headers(self) -> None:
        for name, value in SITE_HEADERS.items():
            self.set_header(name, value)


class _Start(_Own):
    """A user's own sets: open, and hand in."""

    @authenticated
    def get(self) -> None:
        self._show()

    @authenticated
    def post(self) -> None:
        its, link = self.own(self.get_body_argument("set"))
        files = self.request.files.get("file", [])
        with speaking(its.language):
            try:
                if not files:
                    raise RefusedError(_("Choose the file first."))
                its.take(link.student, files[0].body)
            except RefusedError as error:
                self.set_status(400)
                self._show(its.id, error.reason)
            else:
                self.redirect(self.settings["prefix"])

    def _show(self, refused: str = "", reason: str = "") -> None:
        own = [
            (its, link, its.taken(link.student))
            for its in self.sets.values()
            if (link := its.link_of(self.user)) is not None
        ]
        first = own[0][0] if own else next(iter(self.sets.values()))
        if not own:
            self.set_status(403)
        self.set_header("Content-Security-Policy", _PAGE_POLICY)
        with speaking(first.language):
            page = filled_page(
                _PAGE,
                own=own,
                user=self.user,
                prefix=self.settings["prefix"],
                refused=refused,
                reason=reason,
                xsrf=self.xsrf_form_html(),
            )
        self.finish(page)


class _Files(_Own, StaticFileHandler):
    """The site of a set, without the folders of other students."""

    @authenticated
    def get(self, set_id: str, path: str) -> Awaitable[None]:  # type: ignore[override]  # both parts of an address
        return self._given(set_id, path, include_body=True)

    @authenticated
    def head(self, set_id: str, path: str) -> Awaitable[None]:  # type: ignore[override]  # likewise
        return self._given(set_id, path, include_body=False)

    def _given(self, set_id: str, path: str, *, include_body: bool) -> Awaitable[None]:
        its, link = self.own(set_id)
        others = {each.code for each in its.links.values()} - {link.code}
        # By any part of the path, and as disks that know no case would read it.
        if others.intersection(path.casefold().split("/")):
            raise HTTPError(404)
        self.root = str(its.site.resolve())
        self.set_header("Content-Security-Policy", self.settings["policies"][set_id])
        return super().get(path, include_body)

    def check_xsrf_cookie(self) -> None:
        # Scripts of the site's own pages read files without the token of a form. To
        # read changes nothing, and a browser shows no other site what was read.
        if self.request.headers.get("Sec-Fetch-Site") != "same-origin":
            super().check_xsrf_cookie()

    def get_content_type(self) -> str:
        suffix = Path(self.absolute_path or "").suffix.lower()
        return FILE_TYPES.get(suffix, FILE_TYPES[""])

    def set_extra_headers(self, path: str) -> None:  # noqa: ARG002 - tornado's
        self.set_header("Cache-Control", SITE_HEADERS["Cache-Control"])


def new_application(sets: Sequence[HubSet], prefix: str) -> Application:
    """Return the service, to be bound to an address.

    Parameters
    ----------
    prefix : str
        Where the hub's proxy shows it, such as ``/services/clampbook/``.
    """
    return Application(
        [
            (f"{prefix}oauth_callback", HubOAuthCallbackHandler),
            (prefix, _Start),
            # Which folder it is, the address tells first.
            (
                rf"{prefix}([a-z0-9]+)/(.*)",
                _Files,
                {"path": os.sep, "default_filename": "index.html"},
            ),
        ],
        sets={each.id: each for each in sets},
        policies={each.id: policy_of(each.site) for each in sets},
        prefix=prefix,
        cookie_secret=os.urandom(32),
        # The addresses that are asked for hold students' codes.
        log_function=lambda _: None,
    )


def serve_hub(sets: Sequence[HubSet]) -> None:
    """Serve sets until the hub ends this program, at the address that it tells."""
    application = new_application(sets, os.environ["JUPYTERHUB_SERVICE_PREFIX"])
    address = urlsplit(os.environ["JUPYTERHUB_SERVICE_URL"])
    server = HTTPServer(application, max_body_size=MAX_HAND_IN_BYTES + _FORM_BYTES)
    server.listen(address.port or 80, address.hostname or "127.0.0.1")
    IOLoop.current().start()
