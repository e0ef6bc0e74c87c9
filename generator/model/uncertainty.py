"""How uncertain readings are: by the tolerances of a circuit, and by the instrument."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from generator.model import instruments
from generator.model.instruments import Clamp, Meter, Scope, Sense
from generator.model.measure import DiagnosticTest

Floats = NDArray[np.float64]


def standard_uncertainty(value: Floats, tests: Sequence[DiagnosticTest]) -> Floats:
    """Standard uncertainty of each reading from tolerances and instrument.

    Parameters
    ----------
    value : array, shape (n_circuits, n_tests, n_variants)
        From ``readings``, each variant one standard uncertainty away.
    tests : sequence of DiagnosticTest, length n_tests

    Returns
    -------
    array, shape (n_circuits, n_tests)
        In the unit of the reading; what is seen by eye has none of an instrument, and
        a state and an open resistance have 0.

    References
    ----------
    JCGM 100:2008, 5.1.2, eq. (10), with the note to 5.1.3 on numerical derivatives
    (from memory).
    """
    nominal = value[..., :1]
    finite = np.isfinite(value).all(axis=-1, keepdims=True)
    # An open one stays open in every variant, and inf less inf would be nan.
    change = np.where(finite, value, 0.0) - np.where(finite, nominal, 0.0)
    tolerances = (change**2).sum(axis=-1)
    columns = zip(tests, nominal[..., 0].T.tolist(), strict=True)
    own = np.array([_instrument_uncertainties(*column) for column in columns]).T
    return np.asarray(np.sqrt(tolerances + own**2))


def _instrument_uncertainties(
    test: DiagnosticTest, values: Sequence[float]
) -> list[float]:
    """Standard uncertainties of a test's instrument at some readings."""
    if test.is_by_eye:
        return [0.0] * len(values)
    of = _instrument(test).standard_uncertainty
    # What is open, dead or sound reads alike on many circuits.
    found = {value: of(value) if np.isfinite(value) else 0.0 for value in {*values}}
    return [found[value] for value in values]


def _instrument(test: DiagnosticTest) -> Clamp | Sense | Scope | Meter:
    measure = test.measure
    if instrument := measure.clamp or measure.sense:
        return instrument
    if measure.kind == "spike":
        return instruments.SCOPE
    if measure.kind == "resistance":
        return instruments.ohmmeter_for(measure.target)
    is_warmth = measure.kind == "warmth"
    return instruments.THERMOMETER if is_warmth else instruments.VOLTMETER
