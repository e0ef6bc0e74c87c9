"""The commands for students' browsers: write a set's site, or serve it from here."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from answer_keys.written_files import write_private
from generator.commands.console import (
    json_option,
    passphrase_option,
    print_json,
    progress,
    say,
    set_argument,
    tell,
)
from generator.serving.jupyter import open_jupyter
from generator.serving.web import Place
from generator.sets.class_set import ClassSet, read_class_set
from generator.site.links import Link, links_csv, site_address
from generator.week.opened import OpenedSet, opened_set
from generator.week.website import LOOPBACK
from generator.week.website import serve as serve_set
from generator.week.website import site as write_site
from workbook.texts import list_separator, speaking

_Pair = tuple[Path, Path]
_links_option = click.option(
    "--links",
    metavar="FILE",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write every student's link as CSV, for you to give out.",
)


@click.command()
@set_argument
@click.option(
    "--out",
    metavar="DIR",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder to write; default SET/site. An older site there is replaced.",
)
@_links_option
@click.option(
    "--address",
    metavar="URL",
    help="Where the site will be found: it begins every link.",
)
@passphrase_option
@json_option
def site(
    folder: Path,
    out: Path | None,
    links: Path | None,
    address: str | None,
    passphrase: str | None,
    as_json: bool,
) -> None:
    """Write a site that runs every workbook in any browser, for any web server.

    Students install nothing, and no other host is asked for anything. Put it on a
    server with https: browsers keep nothing on plain http. Each workbook has a link of
    its own that is listed nowhere. That keeps classmates out, not somebody who reads
    the files of the site, or the web server's log of what was asked for.

    Example: clampbook site week-3 --links links.csv --address https://class.example
    """
    if links is not None and address is None:
        raise click.UsageError(
            "--links needs --address: links begin with where the site will be found, "
            "such as https://class.example."
        )
    # Only the codes are known without it.
    begin = "" if address is None else site_address(address)
    opened = opened_set(folder, passphrase)
    with progress() as show:
        made = write_site(opened, out, show)
    own = [link.at(begin) for link in made.links]
    if links is not None:
        _write_links(links, own, opened.class_set)
    if as_json:
        rows = [{"id": link.student, "link": link.address} for link in own]
        print_json({"folder": str(made.folder), "students": rows})
    tell(f"Wrote {made.folder} for {len(own)} students: put it on any web server.")
    if links is None:
        tell("Give --links FILE and --address URL to get every student's link.")


@click.command()
@set_argument
@click.option(
    "--python",
    "in_jupyter",
    is_flag=True,
    help="Serve nobody: look at the workbooks yourself, in Jupyter Notebook 7 here.",
)
@_links_option
@click.option(
    "--host",
    default=LOOPBACK,
    show_default=True,
    help="Address to serve on; 0.0.0.0 for a class network, by https.",
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=8460,
    show_default=True,
    help="Port. Browsers keep answers by address and port: keep the same.",
)
@click.option(
    "--certificate",
    nargs=2,
    metavar="CERT KEY",
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    help="Certificate and key for https, in PEM; without them some are made.",
)
@passphrase_option
def serve(
    folder: Path,
    in_jupyter: bool,
    links: Path | None,
    host: str,
    port: int,
    certificate: _Pair | None,
    passphrase: str | None,
) -> None:
    """Serve a set from this machine until Ctrl+C, and print every student's link.

    By itself only this machine can open it. With --host 0.0.0.0 a class network can,
    by https, since browsers keep nothing on plain http. Give a certificate that the
    students' machines trust, or install the one that is made here on them.

    Students get pages that run in their own browsers, and nothing of theirs runs here.
    With --python you look at the workbooks in Jupyter as a student at a computer of
    their own would: what runs in it runs as you, so it is for this machine alone.

    Of an examination it gives the readings, one by one, while a supervisor lets it:
    the page for that is printed, too.

    Example: clampbook serve week-3 --host 0.0.0.0 --links links.csv
    """
    if in_jupyter:
        if host != LOOPBACK or links or certificate:
            raise click.UsageError(
                "--python is for you at this machine only, and serves no student: "
                "leave out --host, --links and --certificate"
            )
        _open_in_jupyter(read_class_set(folder), port)
        return
    _serve_site(opened_set(folder, passphrase), links, (host, port, certificate))


def _serve_site(
    opened: OpenedSet, links: Path | None, where: tuple[str, int, _Pair | None]
) -> None:
    host, port, certificate = where
    place = Place(host=host, port=port, certificate=certificate)
    with progress() as show:
        served = serve_set(opened, place, show)
    if served.authority is not None:
        tell(
            f"The certificate {served.authority} was made here. Install it on the "
            "students' machines as a trusted authority: without that, browsers warn of "
            "it and keep no answers. It stands for this machine alone, and can sign "
            "for no other."
        )
    with served.server as server:
        for link in served.links:
            say.print(f"{link.student:<10} {link.address}")
        if links is not None:
            _write_links(links, served.links, opened.class_set)
        tell("Serving until Ctrl+C.")
        if served.supervision:
            tell(
                f"Supervise at {served.supervision} and give that to nobody: students "
                "get readings once you have started there."
            )
        try:
            server.serve_forever()
        except KeyboardInterrupt:
            tell("Stopped.")


def _open_in_jupyter(class_set: ClassSet, port: int) -> None:
    tell(
        "Jupyter opens here for you alone. Give its address to nobody: whoever has it "
        "works on this machine as you do, with all your files. Students get pages: "
        "leave out --python. Press Ctrl+C here to stop it."
    )
    options = (f"--ServerApp.port={port}", "--ServerApp.port_retries=0")
    open_jupyter(class_set.folder / "for-students", "", *options)


def _write_links(path: Path, own: Sequence[Link], class_set: ClassSet) -> None:
    """Write links as spreadsheets of the set's language take columns apart."""
    with speaking(class_set.request.language):
        write_private(path, links_csv(own, list_separator()))
    tell(f"Links are in {path}: give each student only their own.")
