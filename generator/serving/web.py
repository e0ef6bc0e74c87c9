"""A small web server for a site: fixed types, no listings, safe on a class network."""

from __future__ import annotations

import base64
import os
import re
import ssl
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from http import HTTPStatus
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from io import BytesIO
from pathlib import Path
from types import MappingProxyType
from typing import Any
from urllib.parse import urlsplit

from generator.errors import SiteError
from generator.examining.room import MAX_REQUEST_BYTES
from generator.serving.certificate import names_of, reached_at
from generator.serving.packed import PackedFiles
from generator.serving.service import Asked, Service
from workbook.texts import _

# Windows takes types from its registry, where programs leave what they like.
FILE_TYPES = {
    "": "application/octet-stream",
    ".css": "text/css; charset=utf-8",
    ".html": "text/html; charset=utf-8",
    ".ipynb": "application/json",
    ".js": "text/javascript; charset=utf-8",
    ".json": "application/json",
    ".mjs": "text/javascript; charset=utf-8",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".ttf": "font/ttf",
    ".txt": "text/plain; charset=utf-8",
    ".wasm": "application/wasm",
    ".webmanifest": "application/manifest+json",
    ".whl": "application/zip",
    ".woff": "font/woff",
    ".woff2": "font/woff2",
    ".zip": "application/zip",
}
# What a page may load and do. JupyterLite compiles functions that check its settings,
# and widgets come as blobs; {scripts} stands for the scripts written in its pages.
_POLICY = (
    "default-src 'self'; script-src 'self' 'unsafe-eval' blob: {scripts}; "
    "style-src 'self' 'unsafe-inline'; img-src 'self' data:; object-src 'none'; "
    "base-uri 'self'; form-action 'none'; frame-ancestors 'none'"
)
# macOS gives a program no more (OPEN_MAX of its sys/syslimits.h, from memory).
_OPEN_FILES = 10_240
# Of a length that is worth reading.
_DIGITS = 10
_INLINE = re.compile(rb"<script>(.*?)</script>", re.DOTALL)
SITE_HEADERS = {
    # Addresses hold the students' codes: no other site learns them.
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Robots-Tag": "noindex",
    # Kept, but asked about each time: a new edition is seen at once.
    "Cache-Control": "no-cache",
}


class _Handler(SimpleHTTPRequestHandler):
    """Gives out the files of one folder, and never what is in a folder."""

    # Connections are kept: a page of many files would make one for each.
    protocol_version = "HTTP/1.1"
    # Visitors need not know which Python answers.
    server_version = "clampbook"
    sys_version = ""
    # A visitor who says nothing holds a thread for so long at most [s].
    timeout = 60
    server: _Server

    def parse_request(self) -> bool:
        return super().parse_request() and self._is_one_request()

    def _is_one_request(self) -> bool:
        """Refuse what a proxy before us may take for one request, and we for two.

        The second would be answered to somebody else (RFC 9112, 11.2).
        """
        lengths = self.headers.get_all("Content-Length", [])
        is_doubtful = (
            self.headers.defects
            or any(name != name.strip() for name in self.headers)
            or "Transfer-Encoding" in self.headers
            or len(lengths) > 1
            or (self.command != "POST" and lengths not in ([], ["0"]))
        )
        if is_doubtful:
            self.send_error(HTTPStatus.BAD_REQUEST)
        return not is_doubtful

    def guess_type(self, path: Any) -> str:  # noqa: ANN401 - as the base has it
        return FILE_TYPES.get(Path(path).suffix.lower(), FILE_TYPES[""])

    def list_directory(self, path: Any) -> None:  # noqa: ANN401, ARG002
        self.send_error(HTTPStatus.NOT_FOUND)

    def send_head(self) -> Any:  # noqa: ANN401 - as the base has it
        if self._asked_host() not in self.server.names:
            # A page elsewhere, whose name was made to lead here, asks for files.
            self.send_error(HTTPStatus.MISDIRECTED_REQUEST)
            return None
        path = Path(self.translate_path(self.path))
        asked = path / "index.html" if urlsplit(self.path).path.endswith("/") else path
        # Folders and what is not there: as the base has it.
        return self._send_file(asked) if asked.is_file() else super().send_head()

    def _send_file(self, path: Path) -> Any:  # noqa: ANN401 - as the base has it
        """Answer with a file, in gzip where that is taken, or that it is known."""
        try:
            file = self.server.files.of(path)
        except OSError:
            self.send_error(HTTPStatus.NOT_FOUND)
            return None
        if file.mark in self.headers.get("If-None-Match", ""):
            self.send_response(HTTPStatus.NOT_MODIFIED)
            self.send_header("ETag", file.mark)
            self.end_headers()
            return None
        takes_gzip = "gzip" in self.headers.get("Accept-Encoding", "")
        packed = file.packed if takes_gzip else None
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", self.guess_type(path))
        self.send_header("ETag", file.mark)
        self.send_header("Vary", "Accept-Encoding")
        if packed is not None:
            self.send_header("Content-Encoding", "gzip")
        size = path.stat().st_size if packed is None else len(packed)
        self.send_header("Content-Length", str(size))
        self.end_headers()
        return path.open("rb") if packed is None else BytesIO(packed)

    def do_GET(self) -> None:
        if not self._is_served():
            super().do_GET()

    def do_POST(self) -> None:
        if not self._is_served():
            self.send_error(HTTPStatus.NOT_FOUND)

    def _is_served(self) -> bool:
        """Let a service answer, where one is mounted at this path."""
        path = urlsplit(self.path).path
        for prefix, service in self.server.services.items():
            if path.startswith(prefix) and self._asked_host() in self.server.names:
                self._serve(service, path.removeprefix(prefix))
                return True
        return False

    def _serve(self, service: Service, path: str) -> None:
        length = self.headers.get("Content-Length", "0")
        size = int(length) if length.isdecimal() and len(length) < _DIGITS else None
        if size is None or size > MAX_REQUEST_BYTES:
            # What is on its way is not waited for.
            self.close_connection = True
            self.send_error(HTTPStatus.REQUEST_ENTITY_TOO_LARGE)
            return
        body = self.rfile.read(size)
        if len(body) < size:
            self.close_connection = True
            return
        answer = service(
            Asked(
                method=self.command,
                path=path,
                authorization=self.headers.get("Authorization", ""),
                body=body,
            )
        )
        self.send_response(answer.status)
        self.send_header("Content-Type", answer.content_type)
        self.send_header("Content-Length", str(len(answer.body)))
        self.end_headers()
        self.wfile.write(answer.body)

    def _asked_host(self) -> str | None:
        try:
            return urlsplit(f"//{self.headers.get('Host', '')}").hostname
        except ValueError:
            return None

    def end_headers(self) -> None:
        for name, value in SITE_HEADERS.items():
            self.send_header(name, value)
        self.send_header("Content-Security-Policy", self.server.policy)
        super().end_headers()

    def log_message(self, *_: object) -> None:
        """Say nothing: the addresses that are asked for hold students' codes."""


class _Server(ThreadingHTTPServer):
    # Killed and started again, it takes its port at once. On Windows the option would
    # let a second server take the same one.
    allow_reuse_address = os.name != "nt"
    # A whole school opens its links in one minute. Who finds no room in this queue is
    # told nothing, and tries again after 1, 3, 7 seconds (RFC 6298, 2.1 and 5.5).
    request_queue_size = 1024
    daemon_threads = True
    names: frozenset[str]
    files: PackedFiles
    policy: str
    services: Mapping[str, Service]

    def handle_error(self, *_: object) -> None:
        """Say nothing of visitors who hang up, or do not trust a certificate."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a server is reached.

    Attributes
    ----------
    host : str
        Address to bind.
    port : int
        Port to bind; 0 takes a free one.
    certificate : tuple of pathlib.Path or None
        Certificate and key for https.
    """

    host: str
    port: int
    certificate: tuple[Path, Path] | None = None


def new_server(
    site: Path, place: Place, services: Mapping[str, Service] = MappingProxyType({})
) -> ThreadingHTTPServer:
    """Return a server of a site, a folder, bound but not yet running.

    Parameters
    ----------
    services : mapping of str to Service
        What answers below a path, as ``/readings/``, instead of a file.

    Raises
    ------
    SiteError
        Where the address cannot be had or the certificate is no good.
    """

    def handler(*arguments: Any) -> _Handler:  # noqa: ANN401 - the server's
        return _Handler(*arguments, directory=str(site))

    _allow_connections()
    try:
        server = _Server((place.host, place.port), handler)
    except OSError as error:
        raise SiteError(
            _(
                "{host}, port {port}: cannot be served on ({strerror}). Choose another "
                "--port, or 0 for any that is free."
            ).format(host=place.host, port=place.port, strerror=error.strerror)
        ) from error
    server.names = frozenset(("::1", *names_of(place.host)))
    server.files = PackedFiles()
    server.policy = policy_of(site)
    server.services = services
    if place.certificate is not None:
        server.socket = _secured(server, place.certificate)
    return server


def _allow_connections() -> None:
    """Let this program have as many files open as the system permits, within reason.

    A browser keeps six connections, each a file here: with the usual 1,024, or 256 on
    macOS, a class of two hundred or fifty finds no place.
    """
    if sys.platform == "win32":
        return  # there are no such limits
    import resource

    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = _OPEN_FILES if hard == resource.RLIM_INFINITY else min(_OPEN_FILES, hard)
    if soft != resource.RLIM_INFINITY and soft < wanted:
        resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, hard))


def policy_of(site: Path) -> str:
    """Return what the pages of a site may load and do, as a header says it."""
    scripts = (
        script
        for page in site.rglob("*.html")
        for script in _INLINE.findall(page.read_bytes())
    )
    digests = (base64.b64encode(sha256(script).digest()).decode() for script in scripts)
    hashes = {f"'sha256-{digest}'" for digest in digests}
    return _POLICY.format(scripts=" ".join(sorted(hashes)))


def _secured(server: ThreadingHTTPServer, pair: tuple[Path, Path]) -> ssl.SSLSocket:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    try:
        context.load_cert_chain(*pair)
    except (OSError, ssl.SSLError) as error:
        server.server_close()
        raise SiteError(
            f"{pair[0]} and {pair[1]} cannot be used ({error}). Name a "
            "certificate and its key without a passphrase, both in PEM."
        ) from error
    # The thread that answers does the handshake, so that a slow visitor stops nobody.
    return context.wrap_socket(
        server.socket, server_side=True, do_handshake_on_connect=False
    )


def address_of(server: ThreadingHTTPServer, place: Place) -> str:
    """Return the address that others open, of a server that is bound there."""
    scheme = "http" if place.certificate is None else "https"
    return f"{scheme}://{reached_at(place.host)}:{server.server_address[1]}"
