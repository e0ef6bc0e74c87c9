"""Work that processes share: in order, the same errors, and nothing left behind."""

import os
import pickle
import select
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from answer_keys.errors import Problem
from generator.errors import ClassDrawError, DrawError, WorkerError
from generator.workers import each_of, processes_for
from lessons.errors import LessonError
from workbook.texts import language, speaking

PROJECT = Path(__file__).parents[1]
DRAW = DrawError("a pump", "any fault", 7, "it never shows")
ERRORS = {
    "lesson": LessonError([Problem(path=Path("mine"), line=3, message="is empty")]),
    "draw": ClassDrawError("my-pumps", DRAW),
    "disk": FileNotFoundError(2, "No such file", "gone.svg"),
}
# Tells who works, and goes on for ever.
AT_WORK = """
import signal
from generator.workers import each_of
from tests.test_workers import working
if __name__ == "__main__":
    # As at a terminal: what a shell starts in the background hears no Ctrl-C.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    for done in each_of(working, [0] * 1_000_000, 2):
        print(done, flush=True)
"""


def working(_):
    """Who did it: so quickly that a Ctrl-C comes while locks of the pool are held."""
    return os.getpid()


def halved(number):
    """Half of it, by whom and in which language."""
    return number / 2, os.getpid(), language()


def failing(name):
    """Raise one of the errors."""
    raise ERRORS[name]


def ended(_):
    """End the process as a system does that has no memory left."""
    os.kill(os.getpid(), signal.SIGKILL)


def test_results_come_in_order_from_several_processes():
    """In the language that is spoken here."""
    with speaking("de"):
        done = list(each_of(halved, range(40), 2))
    assert [half for half, *_ in done] == [number / 2 for number in range(40)]
    assert os.getpid() not in {process for _, process, _ in done}
    assert {spoken for *_, spoken in done} == {"de"}


def test_one_process_is_this_one():
    """No other is started."""
    assert {process for _, process, _ in each_of(halved, range(3), 1)} == {os.getpid()}


@pytest.mark.parametrize("name", ERRORS)
def test_errors_keep_all_they_hold_on_the_way(name):
    """The sentence, and what a page asks of them besides."""
    arrived = pickle.loads(pickle.dumps(ERRORS[name]))
    assert type(arrived) is type(ERRORS[name])
    assert str(arrived) == str(ERRORS[name])
    assert repr(vars(arrived)) == repr(vars(ERRORS[name]))


def test_error_of_a_process_is_raised_here():
    """As if it had been done here."""
    with pytest.raises(ClassDrawError, match="it never shows"):
        list(each_of(failing, ["draw", "draw"], 2))


def test_process_that_is_ended_is_told():
    """With what helps."""
    with pytest.raises(WorkerError, match="fewer --workers"):
        list(each_of(ended, [1, 2], 2))


def test_few_tasks_are_worth_few_processes(monkeypatch):
    """What is asked for is done, but for processes without a task."""
    monkeypatch.setattr("generator.workers.cores", lambda: 8)
    assert [processes_for(None, count, 10) for count in (0, 19, 20, 500)] == [
        1,
        1,
        2,
        8,
    ]
    assert processes_for(3, 2, 10) == 2


@pytest.mark.skipif(not hasattr(os, "pidfd_open"), reason="needs Linux to watch others")
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGKILL])
def test_stopped_work_leaves_no_process_behind(how):
    """Ctrl-C reaches all processes of a terminal and is told once, a kill never."""
    work = subprocess.Popen(
        [sys.executable, "-c", AT_WORK],
        cwd=PROJECT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
        start_new_session=True,
    )
    found = set[int]()
    while len(found) < 2:
        found.add(int(work.stdout.readline()))
    watched = [os.pidfd_open(process) for process in found]
    if how == signal.SIGINT:
        os.killpg(work.pid, how)
    else:
        work.send_signal(how)
    _, said = work.communicate(timeout=60)
    assert work.returncode in {-how, 130, 1}
    assert said.count("Traceback") == (how == signal.SIGINT)
    for descriptor in watched:
        ready, _, _ = select.select([descriptor], [], [], 60)
        os.close(descriptor)
        assert ready
