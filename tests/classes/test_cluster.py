"""A real cluster with TLS: whatever is lost of it, the same sets, once each."""

import json
import shutil
import sqlite3
from contextlib import closing

import psutil
import pytest

from generator.classes.jobs import Job
from generator.sets.class_set import read_class_set
from tests.absent import library
from tests.classes.machines import PATIENCE_S, machines, other_pair, until
from tests.classes.school import drawn_in, new_school, run_in_pool
from tests.cli.command import json_of, run

COUNT = 8
PLAN = """\
[school]
folder = "week"
[defaults]
lessons = ["control-side"]
exercises = 2
""" + "".join(
    f'[[classes]]\nname = "c{number}"\nroster = "10b.csv"\n' for number in range(COUNT)
)


@pytest.fixture(autouse=True)
def dask():
    """Skip, or fail in CI, where dask is not there."""
    library("distributed")


def sets_in(folder):
    """Names of the classes whose sets are there."""
    found = {path.parent.name for path in (folder / "week").glob("*/set.toml")}
    return {name for name in found if not name.startswith(".")}  # a draft


@pytest.mark.nightly
def test_what_is_lost_of_a_cluster_costs_nothing_else(tmp_path):
    """A worker, the scheduler, then the client killed: as on one machine, once each."""
    whole = new_school(tmp_path / "whole", PLAN)
    run_in_pool(whole)
    folder = new_school(tmp_path / "school", PLAN)
    with machines(tmp_path / "cluster") as its:
        scheduler, lost, _ = its.scheduler(), its.worker(), its.worker()
        client = its.client(folder)
        until(lambda: len(sets_in(folder)) >= 1)
        lost.kill()
        until(lambda: len(sets_in(folder)) >= 2)
        scheduler.kill()
        scheduler.wait()
        written = sets_in(folder)
        its.scheduler()
        # They end with their scheduler; a service manager starts them again.
        its.worker(), its.worker()
        until(lambda: len(sets_in(folder)) > len(written))
        client.kill()
        client.wait()
        written = sets_in(folder)
        assert 3 <= len(written) < COUNT
        again = its.client(folder, "--json")
        assert again.wait(PATIENCE_S) == 0, again.log.read_text()
        counts = {"there": len(written), "written": COUNT - len(written)}
        assert f'"sets": {json.dumps(counts)}' in again.log.read_text()
    assert drawn_in(folder) == drawn_in(whole)
    assert not list((folder / "week").glob(".*"))


def marks_in(folder):
    """What each class has in its gradebook: files, gradings, and the marks of each."""
    found = {}
    for made in map(read_class_set, sorted(path.parent for path in sets_of(folder))):
        with closing(sqlite3.connect(made.gradebook_file)) as book:
            counts = [
                book.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
                for table in ("hand_in", "grading", "standing")
            ]
        students = json_of("grade", made.folder)["students"]
        found[made.folder.name] = counts, students
    return found


def sets_of(folder):
    """Files that make sets of folders."""
    return (folder / "week").glob("[!.]*/set.toml")


def graded_in(folder):
    """Names of the classes that are noted as graded."""
    return {path.stem for path in folder.glob("week/for-instructor/graded/*.json")}


def crew_of(worker):
    """Processes that mark for a worker."""
    return psutil.Process(worker.pid).children(recursive=True)


@pytest.mark.nightly
def test_what_is_lost_while_marking_is_marked_again_and_counts_once(tmp_path):
    """A worker, the scheduler, then the client killed: marks as on one machine."""
    here = new_school(tmp_path / "here", PLAN.replace("exercises = 2", "exercises = 1"))
    run_in_pool(here)
    for path in sets_of(here):
        run("simulate", path.parent, "--kinds=novice")
    folder = shutil.copytree(here, tmp_path / "there")
    run_in_pool(here)
    with machines(tmp_path / "cluster") as its:
        scheduler, lost, other = its.scheduler(), its.worker(), its.worker()
        client = its.client(folder)
        crew = until(lambda: crew_of(lost))
        lost.kill()
        # What marks for a worker ends with it: nobody would read what it writes.
        psutil.wait_procs(crew, timeout=PATIENCE_S)
        assert not any(one.is_running() for one in crew)
        until(lambda: graded_in(folder) and crew_of(other))
        scheduler.kill()
        scheduler.wait()
        graded = graded_in(folder)
        its.scheduler()
        workers = its.worker(), its.worker()
        until(lambda: graded_in(folder) > graded and any(map(crew_of, workers)))
        client.kill()
        client.wait()
        assert len(graded_in(folder)) < COUNT
        again = its.client(folder, "--json")
        assert again.wait(PATIENCE_S) == 0, again.log.read_text()
    assert len(graded_in(folder)) == COUNT
    assert marks_in(folder) == marks_in(here)


@pytest.mark.nightly
def test_hostile_hand_in_costs_itself_alone_on_a_worker(whole, tmp_path):
    """It exits, hangs, dies or eats memory, and the others are marked as here."""
    here = shutil.copytree(whole, tmp_path / "here")
    run("simulate", here / "week" / "10a", "--kinds=novice")
    there = shutil.copytree(here, tmp_path / "there")
    hostile = ("endless", "exits", "greedy", "killed")
    for name in hostile:
        (there / "week" / "10a" / "handed-in" / f"{name}.jsonl").write_bytes(b"x")
    with machines(tmp_path / "cluster", bewitched=True) as its:
        its.scheduler(), its.worker(), its.worker()
        told = json_of("classes", there / "plan.toml", *its.asked)
    figures = told["classes"][0]["figures"]
    assert (figures["graded"], figures["refused"]) == (2, len(hostile))
    files = json_of("grade", there / "week" / "10a")["files"]
    assert {one["name"] for one in files if one["status"] == "refused"} == {
        f"{name}.jsonl" for name in hostile
    }
    here, there = (json_of("grade", one / "week" / "10a") for one in (here, there))
    assert there["students"] == here["students"]
    assert there["gradings_added"] == 0


@pytest.mark.nightly
def test_nobody_comes_in_without_a_certificate_of_the_cluster(whole, tmp_path):
    """None, one of another authority, or a scheduler that shows a client's."""
    from generator.classes import cluster
    from generator.errors import ClusterError

    def refused(pair, address):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(cluster, "_FIRST_S", 5.0)
            with pytest.raises(ClusterError, match="no scheduler of this cluster"):
                cluster.Cluster(cluster.Place(address=address, pair=pair), print)

    with machines(tmp_path / "cluster") as its:
        scheduler, _ = its.scheduler(), its.worker()
        # It is there for whoever belongs to it.
        assert json_of("classes", whole / "plan.toml", *its.asked)["sets"]
        refused(None, f"tcp://{its.host}")
        refused(other_pair(tmp_path / "others"), f"tls://{its.host}")
        place = cluster.Place(address=f"tls://{its.host}", pair=its.keys["client"])
        with closing(cluster.Cluster(place, print, patience_s=1.0)) as left:
            scheduler.kill()
            scheduler.wait()
            until(lambda: left._client.status != "running")
            with pytest.raises(ClusterError, match="has been away for 1 s"):
                left.start(Job(name="10a", work="drawing", given=()))
        its.scheduler(role="client")
        refused(its.keys["client"], f"tls://{its.host}")
