"""Figures of the class report as static SVG pictures in data addresses."""

from __future__ import annotations

import base64
import io
from collections import Counter
from collections.abc import Mapping, Sequence
from statistics import quantiles
from typing import TYPE_CHECKING, Any

from workbook.texts import _

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


# Rings of more students run into each other: a line stands for them.
_MANY = 60

_INK = "#1b1f24"
_PALE = "#8f9aa6"
_STYLE: dict[Any, Any] = {  # matplotlib types its keys one by one
    "svg.hashsalt": "clampbook",
    "font.family": "DejaVu Sans",
    "font.size": 10,
    "text.color": _INK,
    "axes.edgecolor": _INK,
    "axes.labelcolor": _INK,
    "xtick.color": _INK,
    "ytick.color": _INK,
}


def total_figure(totals: Sequence[float]) -> str:
    """Draw how the totals are spread: one block a student.

    Parameters
    ----------
    totals : sequence of float
        [%]

    Returns
    -------
    str
        A ``data:`` address.
    """
    import matplotlib as mpl

    with mpl.rc_context(_STYLE):
        figure, axes = _new_figure((0.1, 0.19, 0.87, 0.78), height=2.5)
        # All the marks there are belong to the last block.
        bins = Counter(min(9, int(total // 10)) for total in totals)
        for place, count in bins.items():
            # Of many students a block each would be a line.
            each = 1 if len(totals) <= _MANY else count
            for level in range(0, count, each):
                axes.bar(
                    10 * place + 5,
                    each - 0.14,
                    width=9,
                    bottom=level + 0.07,
                    color="#5c7f92",
                    edgecolor=_INK,
                    linewidth=0.7,
                )
        highest = max(bins.values(), default=0)
        axes.set_xlim(0, 100)
        axes.set_ylim(0, max(highest, 3) + 0.3)
        axes.set_xticks(range(0, 101, 10))
        axes.set_yticks(range(0, max(highest, 3) + 1, max(1, highest // 5)))
        axes.set_xlabel(_("total mark [%]"))
        axes.set_ylabel(_("students"))
        return _address(figure)


def step_figure(steps: Mapping[str, Sequence[float]]) -> str:
    """Draw the mean mark of each step, with every student as a ring.

    Parameters
    ----------
    steps : mapping of str to sequence of float
        By step, one share a student [%].

    Returns
    -------
    str
        A ``data:`` address.
    """
    import matplotlib as mpl

    with mpl.rc_context(_STYLE):
        figure, axes = _new_figure((0.21, 0.17, 0.75, 0.8), height=2.9)
        axes.invert_yaxis()
        for level, shares in enumerate(steps.values()):
            mean = sum(shares) / len(shares) if shares else 0.0
            axes.barh(level, mean, height=0.62, color="#d5dee4", edgecolor=_PALE)
            axes.plot([mean, mean], [level - 0.31, level + 0.31], color=_INK, lw=3)
            _draw_students(axes, level, shares)
        axes.set_yticks(range(len(steps)), [_(step.capitalize()) for step in steps])
        axes.tick_params(axis="y", length=0, pad=9)
        axes.set_xlim(0, 100)
        axes.set_xticks(range(0, 101, 20))
        is_many = max(map(len, steps.values()), default=0) > _MANY
        each = _("line = middle half") if is_many else _("ring = one student")
        told = _("mark of the step [%]: bar = mean, {each}")
        axes.set_xlabel(told.format(each=each))
        return _address(figure)


def _draw_students(axes: Axes, level: int, shares: Sequence[float]) -> None:
    """Draw each student as a ring, or of many the middle half as a line."""
    if len(shares) > _MANY:
        low, _, high = quantiles(shares, n=4)
        axes.plot([low, high], [level, level], color=_INK, lw=1.2)
        return
    axes.plot(
        shares,
        [level + offset for offset in _offsets(shares)],
        "o",
        markerfacecolor="none",
        markeredgecolor=_INK,
        markersize=4.5,
        markeredgewidth=0.9,
        clip_on=False,
    )


def path_figure(planned: Sequence[float], taken: Sequence[float | None]) -> str:
    """Draw which part of the diagnoses is proved after how many minutes.

    Parameters
    ----------
    planned : sequence of float
        Minutes of the planned way, one a diagnosis.
    taken : sequence of float or None
        Minutes of the way taken; None where nothing was proved.

    Returns
    -------
    str
        A ``data:`` address.
    """
    import matplotlib as mpl

    with mpl.rc_context(_STYLE):
        figure, axes = _new_figure((0.12, 0.19, 0.84, 0.76), height=2.7)
        proved = sorted(one for one in taken if one is not None)
        longest = max([*planned, *proved, 1.0])
        for minutes, dashes, words in (
            (sorted(planned), (4, 2), _("planned way")),
            (proved, (), _("way of the class")),
        ):
            # Of all diagnoses: what was never proved keeps the line below 100 %.
            heights = [100 * n / len(taken) for n in range(1, len(minutes) + 1)]
            axes.step(
                [0, *minutes, longest],
                [0, *heights, heights[-1] if heights else 0],
                where="post",
                color=_INK,
                lw=1.8,
                # How matplotlib says that a line has no dashes.
                dashes=dashes or (None, None),
                label=words,
            )
        axes.set_xlim(0, longest)
        axes.set_ylim(0, 102)
        axes.set_xlabel(_("minutes of tests"))
        axes.set_ylabel(_("causes proved [%]"))
        axes.legend(frameon=False, loc="lower right")
        return _address(figure)


def _offsets(shares: Sequence[float]) -> list[float]:
    """Set rings of students with nearly the same share beside each other."""
    seen: Counter[int] = Counter()
    alike = Counter(round(share / 2) for share in shares)
    offsets = []
    for share in shares:
        place = round(share / 2)
        # Side by side, yet all of them within their bar, which is 0.62 wide.
        room = min(0.14, 0.6 / alike[place])
        offsets.append(room * (seen[place] - (alike[place] - 1) / 2))
        seen[place] += 1
    return offsets


def _new_figure(
    box: tuple[float, float, float, float], height: float
) -> tuple[Figure, Axes]:
    """Return a figure of its own: pyplot's would outlive the report."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(4.8, height))
    axes = figure.add_axes(box)
    axes.spines[["top", "right"]].set_visible(False)
    return figure, axes


def _address(figure: Figure) -> str:
    file = io.BytesIO()
    # Without a date the same marks give the same bytes.
    figure.savefig(file, format="svg", metadata={"Date": None, "Creator": None})
    picture = base64.b64encode(file.getvalue()).decode("ascii")
    return f"data:image/svg+xml;base64,{picture}"
