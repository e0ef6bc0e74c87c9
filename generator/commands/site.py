"""The commands for students' browsers: write a set's site, or serve it from here."""

from __future__ import annotations

from pathlib import Path

import click

from answer_keys.keys.class_secret import ClassSecret
from generator.commands.console import (
    json_option,
    passphrase_option,
    print_json,
    progress,
    say,
    set_argument,
)
from generator.serving.jupyter import open_jupyter
from generator.sets.class_set import ClassSet, open_key, read_class_set
from generator.site.build import default_folder, write_site
from generator.site.links import Link, write_links
from generator.site.students import PrivateLink

_LOOPBACK = "127.0.0.1"
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
    default="https://YOUR-SERVER",
    show_default=True,
    help="Where the site will be found: it begins every link.",
)
@passphrase_option
@json_option
def site(
    folder: Path,
    out: Path | None,
    links: Path | None,
    address: str,
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
    class_set = read_class_set(folder)
    secret, _ = open_key(class_set, passphrase)
    target = out or default_folder(class_set)
    made = _written(class_set, secret, target)
    own = [link.at(address) for link in made]
    if links is not None:
        write_links(links, own)
    if as_json:
        rows = [{"id": link.student, "link": link.address} for link in own]
        print_json({"folder": str(target), "students": rows})
    say.print(f"Wrote {target} for {len(made)} students: put it on any web server.")
    if links is None:
        say.print("Give --links FILE to get every student's link.")
    else:
        say.print(f"Links are in {links}: give each student only their own.")


def _written(
    class_set: ClassSet, secret: ClassSecret, target: Path
) -> list[PrivateLink]:
    with progress() as tell:
        return write_site(class_set, secret, target, tell)


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
    default=_LOOPBACK,
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

    Example: clampbook serve week-3 --host 0.0.0.0 --links links.csv
    """
    class_set = read_class_set(folder)
    if in_jupyter:
        if host != _LOOPBACK or links or certificate:
            raise click.UsageError(
                "--python is for you at this machine only, and serves no student: "
                "leave out --host, --links and --certificate"
            )
        _open_in_jupyter(class_set, port)
        return
    secret, _ = open_key(class_set, passphrase)
    if certificate is None and host != _LOOPBACK:
        certificate = _self_made(class_set, host)
    made = _written(class_set, secret, default_folder(class_set))
    _serve_site(class_set, made, links, (host, port, certificate))


def _self_made(class_set: ClassSet, host: str) -> _Pair:
    # The library takes long to read, and only this needs it.
    from generator.serving.certificate import self_made_certificate

    made = self_made_certificate(class_set.secret_file.parent, host)
    say.print(
        f"The certificate {made.authority} was made here. Install it on the students' "
        "machines as a trusted authority: without that, browsers warn of it and keep "
        "no answers. It stands for this machine alone, and can sign for no other."
    )
    return made.certificate, made.key


def _serve_site(
    class_set: ClassSet,
    made: list[PrivateLink],
    links: Path | None,
    where: tuple[str, int, _Pair | None],
) -> None:
    # They take long to read, and only this needs them.
    from generator.serving.web import Place, address_of, new_server

    host, port, certificate = where
    place = Place(host=host, port=port, certificate=certificate)
    with new_server(default_folder(class_set), place) as server:
        _tell([link.at(address_of(server, place)) for link in made], links)
        try:
            server.serve_forever()
        except KeyboardInterrupt:
            say.print("Stopped.")


def _open_in_jupyter(class_set: ClassSet, port: int) -> None:
    say.print(
        "Jupyter opens here for you alone. Give its address to nobody: whoever has it "
        "works on this machine as you do, with all your files. Students get pages: "
        "leave out --python. Press Ctrl+C here to stop it."
    )
    options = (f"--ServerApp.port={port}", "--ServerApp.port_retries=0")
    open_jupyter(class_set.folder / "for-students", "", *options)


def _tell(own: list[Link], links: Path | None) -> None:
    for link in own:
        say.print(f"{link.student:<10} {link.address}")
    if links is not None:
        write_links(links, own)
        say.print(f"Links are in {links}: give each student only their own.")
    say.print("Serving until Ctrl+C.")
