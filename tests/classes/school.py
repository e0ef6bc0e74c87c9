"""A school of two tiny classes, and an engine that does jobs in this process."""

from contextlib import closing
from queue import SimpleQueue

from answer_keys.keys.class_secret import write_class_secret
from generator.classes.done import Access
from generator.classes.jobs import Answer, perform
from generator.classes.plan import read_plan
from generator.classes.pool import Pool
from generator.classes.run import Engines, run_plan
from generator.sets.class_set import open_key, read_class_set
from tests.cli.command import files_below
from tests.drawn import SECRET
from workbook.version import __version__

PLAN = """\
[school]
title = "Week 3"
folder = "week"

[defaults]
lessons = ["control-side"]
exercises = 1
mode = "practice"

[[classes]]
name = "10a"
title = "Mechatronics 10 a"
roster = "10a.csv"

[[classes]]
name = "10b"
roster = "10b.csv"
"""
ROSTERS = {
    "10a.csv": "id,name\na1,Ada Berg\na2,Bo Dahl\n",
    "10b.csv": "id,name\nb1,Cy Falk\n",
}


def new_school(folder, plan=PLAN, secret=SECRET):
    """Write plan and class lists into a new folder; the school has a known secret."""
    folder.mkdir()
    for name, text in {"plan.toml": plan, **ROSTERS}.items():
        (folder / name).write_text(text)
    own = folder / "week" / "for-instructor"
    own.mkdir(parents=True)
    write_class_secret(own / "school-secret.txt", secret)
    return folder


NO_ACCESS = Access()
"""No passphrase, and the gradebook of each class in its folder."""


class Here:
    """Does each job at once, in this process, and notes which it did."""

    def __init__(self, answers):
        self.answers, self.done = answers, []

    @property
    def room(self):
        return int(self.answers.empty())

    def start(self, job):
        self.done.append((job.name, job.work))
        data, fault = perform(job.work, job.given, __version__)
        self.answers.put(Answer(job=job, data=data, fault=fault))

    def mend(self):
        return False

    def close(self):
        pass


def run_here(folder, engine=Here, access=NO_ACCESS):
    """Run a plan in this process; the rows by class, and what was done."""
    answers = SimpleQueue()
    here = engine(answers)
    engines = Engines(near=here, far=here, answers=answers)
    rows = run_plan(read_plan(folder / "plan.toml"), engines, access)
    return {row.planned.name: row for row in rows}, here.done


def run_in_pool(folder, processes=2):
    """Run a plan in processes of this machine; the rows by class."""
    answers = SimpleQueue()
    with closing(Pool(processes, answers.put)) as pool:
        engines = Engines(near=pool, far=pool, answers=answers)
        rows = run_plan(read_plan(folder / "plan.toml"), engines, NO_ACCESS)
    return {row.planned.name: row for row in rows}


def drawn_in(folder):
    """All that hangs on the secret: what students get, and the keys of each class."""
    school = folder / "week"
    return {
        one.parent.name: (
            files_below(one.parent / "for-students"),
            open_key(read_class_set(one.parent))[1],
        )
        for one in sorted(school.glob("*/set.toml"))
    }
