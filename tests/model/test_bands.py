"""Expected bands hold the sound circuits that tolerances allow, read with real meters.

Each tolerance and each limit of an instrument is drawn as a rectangle (JCGM 101:2008,
6.4.2, from memory), which is what a limit without more knowledge means.
"""

from dataclasses import replace

import numpy as np
import pytest

from generator.model.catalogue import tests as catalogue
from generator.model.catalogue.tests import TESTS
from generator.model.diagnostics import readings, scales
from generator.model.instruments import VOLTMETER, ohmmeter_for
from tests.circuits import FAN, HEATER, LOADS, PUMP, VALVE

DRAWS = 500
HELD_FRAC = 0.95
TOLERANCES = {
    "supply_v": 0.01,
    "supply_ohm": 0.3,
    "coil_ohm": 0.05,
    "suppression_ohm": 0.05,
    "driver_ohm": 0.3,
    "load_feed_ohm": 0.2,
    "load_wire_ohm": 0.2,
    "load_ground_ohm": 0.2,
    "contacts_ohm": 0.3,
    "socket_ohm": 0.3,
    "load_connector_ohm": 0.3,
}
LOAD_TOLERANCES = {
    "fan motor": {"fan_nms2": 0.06, "motor_constant_vs": 0.015, "load_ohm": 0.06},
    "pump motor": {"friction_nm": 0.06, "motor_constant_vs": 0.015, "load_ohm": 0.06},
}
CASES = LOADS | {
    "fan, shared fuse": replace(FAN, is_fuse_shared=True),
    "heater, high side": replace(HEATER, is_high_side=True, upstream_ohm=0.008),
    "valve, five terminals": replace(VALVE, break_contact_ohm=0.005),
    "pump on the battery alone": replace(PUMP, supply_v=12.5, supply_ohm=0.025),
}


def limits_of(sound):
    """Limits of what may be off in a circuit, as fractions."""
    if sound.motor_constant_vs:
        kind = "fan motor" if sound.fan_nms2 else "pump motor"
        return TOLERANCES | LOAD_TOLERANCES[kind]
    return TOLERANCES | {"load_ohm": 0.05}


def built(rng, sound):
    """A circuit drawn within its tolerances."""
    return replace(
        sound,
        **{
            name: getattr(sound, name) * (1 + rng.uniform(-limit, limit))
            for name, limit in limits_of(sound).items()
        },
    )


def displayed(rng, test, values):
    """Values as its instrument shows them, each with errors of its own."""
    off = rng.uniform(-1, 1, (3, len(values)))
    clamp = test.measure.clamp
    if clamp is None:
        is_ohms = test.measure.kind == "resistance"
        meter = ohmmeter_for(test.measure.target) if is_ohms else VOLTMETER
        return values + off[0] * [meter.limit(value) for value in values]
    probe = off[0] * [clamp.limit(value) for value in values] + off[2] * clamp.noise_a
    meter = [VOLTMETER.limit(value * clamp.scale_v_per_a) for value in values]
    return values + probe + off[1] * meter / clamp.scale_v_per_a


@pytest.mark.parametrize("sound", CASES.values(), ids=CASES)
def test_bands_hold_the_draws_of_sound_circuits(sound):
    """At least 95 % of them, in every test that has a band (fixed seed)."""
    tests = [
        test
        for test in catalogue.tests_for(sound, TESTS, is_stressed=False)
        if not test.is_by_eye
    ]
    steps = {name: limit / 3**0.5 for name, limit in limits_of(sound).items()}
    rng = np.random.default_rng(20261125)
    vehicles = [built(rng, sound) for _ in range(DRAWS)]
    value = readings([(c, c) for c in vehicles], sound, tests).value[..., 0]
    for number, (test, scale) in enumerate(
        zip(tests, scales(sound, tests, steps), strict=True)
    ):
        low, high = scale.band
        shown = displayed(rng, test, value[:, number])
        # A meter on a point that is near ground may show a little less than nothing.
        held = ((shown >= min(low, -0.1)) if low == 0 else shown >= low) & (
            shown <= high
        )
        assert held.mean() >= HELD_FRAC, (test.id, held.mean())


@pytest.mark.parametrize("kind", ["heater", "fan motor", "lamp bank", "pump motor"])
def test_bands_are_no_wider_than_they_need_be(kind):
    """A current a quarter off its nominal value is never taken for sound."""
    sound = LOADS[kind]
    tests = [TESTS["control_current"], TESTS["load_current"]]
    steps = {name: limit / 3**0.5 for name, limit in limits_of(sound).items()}
    nominal = readings([(sound, sound)], sound, tests).value[0, :, 0]
    for amount, scale in zip(nominal, scales(sound, tests, steps), strict=True):
        assert scale.word(amount * 1.25) == "high"
        assert scale.word(amount * 0.75) == "low"
