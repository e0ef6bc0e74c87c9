"""What runs on the student's side: form, journal, quantities, hand-in.

A workbook's code cells say ``import workbook; workbook.exercise(3)`` and nothing else.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook.version import __version__

if TYPE_CHECKING:
    from workbook.page.form import Form

__all__ = ["__version__", "exercise"]


def exercise(number: int, spoken: str = "") -> Form:
    """Open one exercise of the workbook that this cell is in.

    Cells may be run in any order and again: everything recorded comes back.

    Parameters
    ----------
    number : int
        Exercise number.
    spoken : str
        Language of the workbook, where its folder has it in several.

    Returns
    -------
    Form
        The exercise, or a panel that says what is wrong.
    """
    from workbook.page.form import open_form

    return open_form(number, spoken)
