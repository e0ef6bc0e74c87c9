"""What the answer key knows of a number that is asked for, and of a question."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from answer_keys.misconceptions import MISCONCEPTIONS

Band = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongRule:
    """A misconception: a wrong rule with the numbers that it yields.

    Attributes
    ----------
    value : float
        What the rule gives, in the unit of the number.
    band : tuple of float
        Lowest and highest number that the rule explains.
    text : str
        What was done, in this circuit's words.
    """

    id: str
    value: float
    band: Band
    text: str

    def __post_init__(self) -> None:
        check_misconception(self.id)


def check_misconception(id_: str) -> None:
    """Refuse what is named and is not in the catalogue."""
    if id_ and id_ not in MISCONCEPTIONS:
        raise ValueError(f"the catalogue has no misconception {id_!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberKey:
    """The answer to a number that is asked for.

    Attributes
    ----------
    value : float
        In `unit`.
    band : tuple of float
        Lowest and highest number that is right.
    test : str
        The one whose reading is asked after the repair; else empty.
    """

    id: str
    label: str
    unit: str
    value: float
    band: Band
    misconceptions: tuple[WrongRule, ...] = ()
    test: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionKey:
    """An option of a question, or a line to be written.

    ``text`` says what is right or wrong with it, ``misconception`` is the id of the
    wrong rule that chooses it.
    """

    id: str
    label: str
    text: str = ""
    misconception: str = ""

    def __post_init__(self) -> None:
        check_misconception(self.misconception)


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionKey:
    """A question with its answer, by its kind.

    Attributes
    ----------
    kind : {"number", "choice", "order", "lines"}
    right : tuple of str
        Of a choice the one option, of an order all of them.
    text : str
        Why an order is as it is.
    lines : tuple of OptionKey
        Their texts are a model answer; nothing grades it.
    checklist : tuple of str
        What the instructor reads lines for.
    """

    id: str
    kind: Literal["number", "choice", "order", "lines"]
    label: str
    number: NumberKey | None = None
    options: tuple[OptionKey, ...] = ()
    right: tuple[str, ...] = ()
    text: str = ""
    lines: tuple[OptionKey, ...] = ()
    checklist: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        ids = {option.id for option in self.options}
        if not ids.issuperset(self.right) or (self.options and not self.right):
            raise ValueError(f"the right answer to {self.id} is not among its options")
        if (self.kind == "number") != (self.number is not None):
            raise ValueError(f"question {self.id} is a number, or has none")

    @property
    def unit(self) -> str:
        """Unit of the number that is asked for."""
        return self.number.unit if self.number else ""

    def option(self, wanted: str) -> OptionKey:
        """Find one of its options."""
        return next(option for option in self.options if option.id == wanted)
