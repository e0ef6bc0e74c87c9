"""``clampbook classes`` and ``clampbook cluster``: many classes, on many machines."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from importlib.util import find_spec
from pathlib import Path
from queue import SimpleQueue
from typing import Any

import click

from answer_keys.own_command import extra_hint, typed
from generator.classes.done import Access, is_told, keep_told
from generator.classes.jobs import Answer, Engine
from generator.classes.keys import ROLES, read_pair, write_keys
from generator.classes.plan import Plan, read_plan
from generator.classes.pool import Pool
from generator.classes.report import summary, write_school_report
from generator.classes.rows import Row
from generator.classes.run import Engines, run_plan
from generator.commands.console import (
    gradebook_option,
    json_option,
    passphrase_option,
    print_json,
    progress,
    tell,
    workers_option,
)
from generator.week.opened import opened_set
from generator.week.training import PAGE_NAME, train
from generator.workers import cores

_PORT = 8786
_RISK = (
    "Without TLS whoever reaches that port reads every class secret and answer key, "
    "and can run programs on every machine of the cluster."
)


@click.command()
@click.argument("file", metavar="PLAN", type=click.Path(path_type=Path))
@workers_option
@click.option(
    "--cluster",
    metavar="ADDRESS",
    help="Let the machines of a cluster draw and mark: host and port of its scheduler.",
)
@click.option(
    "--certificates",
    metavar="FOLDER",
    type=click.Path(path_type=Path, file_okay=False),
    help="What this machine shows the cluster: the folder client of 'clampbook "
    "cluster'.",
)
@click.option(
    "--without-tls",
    is_flag=True,
    help="Talk to the cluster without certificates, and readable for everybody: only "
    "in a network where you trust every machine and every user.",
)
@click.option(
    "--training",
    metavar="FOLDER",
    type=click.Path(path_type=Path),
    help="Also write into a folder what all graded classes tell together, as report "
    "--training does, where more is graded than the last time.",
)
@gradebook_option
@passphrase_option
@json_option
def classes(file: Path, as_json: bool, **asked: Any) -> None:  # noqa: ANN401 - click's
    """Write sets for many classes, and grade those whose hand-ins are there.

    PLAN is a TOML file with a table for each class, or a OneRoster 1.2 bundle, of which
    every class gets the usual set. What is done already is not done again, so that a
    run which was stopped goes on when it is started once more; a class that fails stops
    no other. A page tells how all classes stand.

    Example: clampbook classes autumn.toml --workers 4
    """
    place = _address(asked)
    plan = read_plan(file)
    access = Access(passphrase=asked["passphrase"], gradebook=asked["gradebook"])
    try:
        with (
            _engines(asked["workers"] or cores(), place, asked) as engines,
            progress() as show,
        ):
            rows = run_plan(plan, engines, access, show)
    except KeyboardInterrupt:
        tell("Stopped. What is written stays: type the same again to go on.")
        raise
    report = write_school_report(plan, rows)
    for row in rows:
        for line in _told(row):
            tell(line)
    for line in _sums(rows):
        tell(line)
    training = _trained(plan, rows, access, asked["training"])
    if as_json:
        print_json({**summary(plan, rows), "training": training and str(training)})
    tell(f"Open {report}; give out only the folders for-students of the sets.")
    if any(row.has_failed for row in rows):
        click.get_current_context().exit(1)


def _trained(
    plan: Plan, rows: Sequence[Row], access: Access, folder: Path | None
) -> Path | None:
    """Write what all classes tell together, where more is graded; name the page."""
    if folder is None:
        return None
    graded = [row for row in rows if row.figures is not None and row.figures.graded]
    names, page = [row.planned.name for row in graded], folder / PAGE_NAME
    if not names:
        tell("Nothing is graded yet that the head of training could be told.")
        return None
    if is_told(plan.folder, names, page):
        tell(f"For the head of training, as before: {page}.")
        return page
    sets = [
        opened_set(plan.folder / name, access.passphrase, access.gradebook)
        for name in names
    ]
    with progress() as show:
        train(sets, folder, show)
    keep_told(plan.folder, names, page)
    tell(f"For the head of training: {page}.")
    return page


def _address(asked: dict[str, Any]) -> str | None:
    """Address of a cluster with its protocol; what does not go together is refused."""
    place: str | None = asked["cluster"]
    is_plain: bool = asked["without_tls"]
    if place is None:
        if is_plain or asked["certificates"]:
            raise click.UsageError(
                "--certificates and --without-tls are for a cluster. Name one with "
                "--cluster, or leave them out."
            )
        return None
    protocol, _, host = place.rpartition("://")
    if is_plain and (asked["certificates"] or protocol == "tls"):
        raise click.UsageError(
            "--without-tls goes with neither --certificates nor tls://. Leave one out."
        )
    if protocol not in {"", "tcp" if is_plain else "tls"}:
        raise click.UsageError(
            f"{place} is no address with TLS. Write host and port alone. {_RISK}"
        )
    if not is_plain and not asked["certificates"]:
        raise click.UsageError(
            f"--cluster needs --certificates FOLDER; '{typed('cluster')}' makes them. "
            f"{_RISK}"
        )
    port = "" if ":" in host else f":{_PORT}"
    return f"{'tcp' if is_plain else 'tls'}://{host}{port}"


@contextmanager
def _engines(
    workers: int, place: str | None, asked: dict[str, Any]
) -> Iterator[Engines]:
    answers = SimpleQueue[Answer]()
    with closing(Pool(workers, answers.put)) as near:
        if place is None:
            yield Engines(near=near, far=near, answers=answers)
            return
        if asked["without_tls"]:
            tell(f"{_RISK} You have asked for it with --without-tls.")
        with closing(_cluster(place, asked["certificates"], answers)) as far:
            yield Engines(near=near, far=far, answers=answers)


def _cluster(
    address: str, certificates: Path | None, answers: SimpleQueue[Answer]
) -> Engine:
    if find_spec("distributed") is None:
        raise click.ClickException(f"dask is not there: {extra_hint('cluster')}")
    # Only where the library is there.
    from generator.classes.cluster import Cluster, Place

    pair = None if certificates is None else read_pair(certificates)
    return Cluster(Place(address=address, pair=pair), answers.put)


def _told(row: Row) -> Iterator[str]:
    """Say of a class what its instructor has to know."""
    name = row.planned.name
    if row.has_failed:
        what = "grading" if row.graded else "the set"
        yield f"{name}: {what} failed: {row.fault}"
    if row.drawn == "left out":
        yield f"{name}: left out: {row.fault}"
    if row.figures is not None and row.figures.undecided:
        count = row.figures.undecided
        yield f"{name}: choose the hand-in that counts for {count} students"
    if row.figures is not None and row.figures.unread:
        yield f"{name}: {row.figures.unread} files were not read"


_SETS = {
    "written": "{} written",
    "there": "{} there already",
    "left out": "{} left out",
    "failed": "{} failed",
}
_GRADINGS = {
    "graded": "{} graded",
    "as before": "{} as before",
    "no hand-ins": "{} without hand-ins",
    "failed": "{} failed",
}


def _sums(rows: Sequence[Row]) -> Iterator[str]:
    students = sum(len(row.planned.request.students) for row in rows)
    marked = sum(row.figures.graded for row in rows if row.figures)
    called = "class" if len(rows) == 1 else "classes"
    yield f"{len(rows)} {called}, {students} students, {marked} of them with marks."
    yield f"Sets: {_counted(_SETS, Counter[str](row.drawn for row in rows))}."
    graded = Counter[str](row.graded for row in rows if row.graded)
    if graded:
        yield f"Marks: {_counted(_GRADINGS, graded)}."
    if any(row.has_failed for row in rows):
        yield "Mend what is told above, and type the same again."


def _counted(words: Mapping[str, str], counts: Mapping[str, int]) -> str:
    told = (text.format(counts[key]) for key, text in words.items() if key in counts)
    return ", ".join(told)


@click.command()
@click.argument("folder", metavar="FOLDER", type=click.Path(path_type=Path))
@json_option
def cluster(folder: Path, as_json: bool) -> None:
    """Make the keys of a cluster, and say what to start on its machines.

    FOLDER gets a folder for the scheduler, one for the workers and one for you. All
    machines of a cluster trust each other: whoever has one of these folders can read
    class secrets and answer keys, and run programs there. It needs the extra cluster
    on each.

    Example: clampbook cluster our-cluster
    """
    pairs = write_keys(folder)
    if as_json:
        print_json({role: str(folder / role) for role in pairs})
    shown = (
        "--tls-ca-file authority.pem --tls-cert certificate.pem --tls-key key.pem "
        "--no-dashboard"
    )
    own = {role: folder / role for role in ROLES}
    tell(f"Copy {own['scheduler']} to the machine of the scheduler; in it, type:")
    tell(f"  dask scheduler --protocol tls --port {_PORT} {shown}")
    tell(f"Copy {own['worker']} to each machine that is to work; in it, type:")
    tell(f"  dask worker tls://SCHEDULER:{_PORT} --nworkers auto --nthreads 1 {shown}")
    tell(f"Keep {own['client']} here, and type:")
    tell(
        "  " + typed(f"classes PLAN --cluster SCHEDULER --certificates {own['client']}")
    )
