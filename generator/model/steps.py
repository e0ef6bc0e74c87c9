"""Work that is done in steps, so that what several ask for is settled in one batch."""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from functools import update_wrapper
from typing import Generic, ParamSpec, TypeVar

from generator.model.settling import Unsettled, settle_all
from generator.model.topology import Settled

_Given = ParamSpec("_Given")
_Result = TypeVar("_Result")
_Error = TypeVar("_Error", bound=Exception)
Steps = Generator[Unsettled, Settled, _Result]
"""Work that asks for what is to be settled, and goes on when it is."""


class InSteps(Generic[_Given, _Result]):
    """A function that works in ``steps``; called, it takes them by itself."""

    def __init__(self, steps: Callable[_Given, Steps[_Result]]) -> None:
        self.steps = steps
        update_wrapper(self, steps)

    def __call__(self, *args: _Given.args, **kwargs: _Given.kwargs) -> _Result:
        """Take all steps, each in a batch of its own."""
        steps = self.steps(*args, **kwargs)
        try:
            asked = next(steps)
            while True:
                asked = steps.send(settle_all([asked])[0])
        except StopIteration as done:
            result: _Result = done.value
            return result


def together(
    works: Sequence[Steps[_Result]], kept: type[_Error]
) -> list[_Result | _Error]:
    """Do several works, each step of all of them in one batch.

    Parameters
    ----------
    kept : type
        Errors that end the one work alone, and stand for its result.
    """
    results = dict[int, _Result | _Error]()
    asked = dict[int, Unsettled]()

    def go_on(number: int, settled: Settled | None) -> None:
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
        for number, settled in zip(now, settle_all(list(now.values())), strict=True):
            go_on(number, settled)
    return [results[number] for number in range(len(works))]
