"""The site of a set: written for a web server, or served from this machine."""

from __future__ import annotations

from dataclasses import dataclass, replace
from http.server import ThreadingHTTPServer
from pathlib import Path

from answer_keys.headway import Progress
from generator.serving.certificate import self_made_certificate
from generator.serving.room_service import services_of
from generator.serving.service import Service
from generator.serving.tried import PATH, TestLink
from generator.serving.web import Place, address_of, new_server
from generator.site.build import default_folder, write_site
from generator.site.links import Link
from generator.site.students import PrivateLink
from generator.week.examination import room_of
from generator.week.opened import OpenedSet

LOOPBACK = "127.0.0.1"
"""The address of this machine that no other can reach."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """A site that was written, and what tells each student's part of it."""

    folder: Path
    links: tuple[PrivateLink, ...]


def site(
    opened: OpenedSet, out: Path | None = None, tell: Progress = lambda *_: None
) -> Site:
    """Write the site of a set, for any web server.

    Parameters
    ----------
    out : pathlib.Path or None
        None is the folder ``site`` of the set.

    Raises
    ------
    SiteError
        Where something needed is missing, or the folder holds other things.
    """
    folder = out or default_folder(opened.class_set)
    links = write_site(opened.class_set, opened.secret, folder, tell)
    return Site(folder=folder, links=tuple(links))


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """A site that is bound to an address; ``server.serve_forever()`` answers there.

    Attributes
    ----------
    server : http.server.ThreadingHTTPServer
        Also a context manager, which closes it.
    address : str
        What others open.
    links : tuple of Link
        One a student.
    authority : pathlib.Path or None
        Where a certificate was made here: what students' machines have to trust.
    supervision : str
        Of an examination, the address of its room, for the supervisor alone.
    test_link : TestLink
        What devices have said that opened ``address/#try``.
    """

    server: ThreadingHTTPServer
    address: str
    links: tuple[Link, ...]
    authority: Path | None = None
    supervision: str = ""
    test_link: TestLink


def serve(opened: OpenedSet, place: Place, tell: Progress = lambda *_: None) -> Served:
    """Write the site of a set, and bind a server of it.

    Without a certificate one is made for any address but this machine's own: browsers
    keep answers by https alone. An examination's has its room, which gives readings.

    Raises
    ------
    SiteError
        Where the site cannot be written, or the address cannot be had.
    RoomError
        Where an examination's record was changed.
    """
    authority = None
    # Browsers trust a page of their own machine without one, and keep its answers.
    if place.certificate is None and place.host != LOOPBACK:
        folder = opened.class_set.secret_file.parent
        made = self_made_certificate(folder, place.host)
        authority = made.authority
        place = replace(place, certificate=(made.certificate, made.key))
    written = site(opened, None, tell)
    link, room = TestLink(), ""
    services: dict[str, Service] = {PATH: link}
    if opened.key.mode == "examination":
        token_file = opened.class_set.secret_file.parent / "room-token.txt"
        language = opened.class_set.request.language
        own, room = services_of(room_of(opened), token_file, language)
        services |= own
    server = new_server(written.folder, place, services)
    address = address_of(server, place)
    return Served(
        server=server,
        address=address,
        links=tuple(link.at(address) for link in written.links),
        authority=authority,
        supervision=f"{address}{room}" if room else "",
        test_link=link,
    )
