"""Whether two JSON values agree: words exactly, numbers but for their last digits.

A processor of another kind, or another release of a library, may round a number another
way in its last digits. That is no change of an exercise.
"""

from __future__ import annotations

import math
from typing import Any

# Far below the last digit of any page, far above what rounding does.
_RELATIVE = 1e-9
# What is nothing but for rounding has no digits of its own.
_ABSOLUTE = 1e-12


def first_difference(one: Any, other: Any, place: str = "") -> str | None:  # noqa: ANN401 - JSON
    """Place of the first difference of two JSON values, None where they agree.

    Examples
    --------
    >>> first_difference({"a": [1.0, "x"]}, {"a": [1.0 + 1e-12, "y"]})
    'a[1]'
    """
    if one == other or _is_rounded(one, other):
        return None
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        pairs = [
            (f"{place}.{name}".lstrip("."), one[name], other[name]) for name in one
        ]
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        both = enumerate(zip(one, other, strict=True))
        pairs = [(f"{place}[{number}]", a, b) for number, (a, b) in both]
    else:
        return place
    found = (first_difference(a, b, where) for where, a, b in pairs)
    return next((where for where in found if where is not None), None)


def _is_rounded(one: Any, other: Any) -> bool:  # noqa: ANN401 - JSON
    """Whether two numbers, one of them broken, are the same but for rounding."""
    return {type(one), type(other)} in ({float}, {float, int}) and math.isclose(
        one, other, rel_tol=_RELATIVE, abs_tol=_ABSOLUTE
    )
