"""Work that is done in steps, so that what several ask for is settled in one batch."""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from functools import update_wrapper
from itertools import chain, islice
from typing import Any, Generic, ParamSpec, TypeVar

from generator.model.settling import Unsettled, settle_all
from generator.model.topology import Settled

_Given = ParamSpec("_Given")
_Result = TypeVar("_Result")
_Other = TypeVar("_Other")
_Error = TypeVar("_Error", bound=Exception)
Steps = Generator[Sequence[Unsettled], Sequence[Settled], _Result]
"""Work that asks for what is to be settled, and goes on when it is."""


class InSteps(Generic[_Given, _Result]):
    """A function that works in ``steps``; called, it takes them by itself."""

    def __init__(self, steps: Callable[_Given, Steps[_Result]]) -> None:
        self.steps = steps
        update_wrapper(self, steps)

    def __call__(self, *args: _Given.args, **kwargs: _Given.kwargs) -> _Result:
        """Take all steps, each in a batch of its own."""
        return _taken(self.steps(*args, **kwargs))


def _taken(steps: Steps[_Result]) -> _Result:
    """Take all steps of a work, each in a batch of its own."""
    try:
        asked = next(steps)
        while True:
            asked = steps.send(settle_all(asked))
    except StopIteration as done:
        result: _Result = done.value
        return result


def settled_of(one: Unsettled) -> Steps[Settled]:
    """Ask for one thing to be settled, as a step."""
    (settled,) = yield [one]
    return settled


def together(
    works: Sequence[Steps[_Result]], kept: type[_Error]
) -> list[_Result | _Error]:
    """Do several works, each step of all of them in one batch.

    Parameters
    ----------
    kept : type
        Errors that end the one work alone, and stand for its result.
    """
    return _taken(_side_by_side(works, (kept,)))


def all_together(works: Sequence[Steps[_Result]]) -> list[_Result]:
    """Do several works that cannot fail, each step of all of them in one batch."""
    return _taken(_side_by_side(works, ()))


def both(one: Steps[_Result], other: Steps[_Other]) -> Steps[tuple[_Result, _Other]]:
    """Do two works that need nothing of each other as one, with fewer steps."""
    first, second = yield from _side_by_side((one, other), ())
    return first, second


def _side_by_side(
    works: Sequence[Steps[Any]], kept: tuple[type[Exception], ...]
) -> Steps[list[Any]]:
    """Do several works as one: what all of them ask for at a time is one step."""
    results, asked = dict[int, Any](), dict[int, Sequence[Unsettled]]()

    def go_on(number: int, settled: Sequence[Settled] | None) -> None:
        try:
            # A generator is started by sending it None, which its type does not tell.
            asked[number] = works[number].send(settled)  # type: ignore[arg-type]
        except StopIteration as done:
            results[number] = done.value
        except kept as error:
            # With it the arrays of each step would be kept until a late collection.
            results[number] = error.with_traceback(None)

    for number in range(len(works)):
        go_on(number, None)
    while asked:
        # While answers are handed out, the next questions are put into ``asked`` again.
        now = dict(asked)
        asked.clear()
        settled = iter((yield list(chain.from_iterable(now.values()))))
        for number, own in now.items():
            go_on(number, list(islice(settled, len(own))))
    return [results[number] for number in range(len(works))]
