"""Whether the work is done is judged alike by the operator and by the test of it."""

from dataclasses import replace

import numpy as np
import pytest

from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.circuit import columns_of
from generator.model.diagnostics import outcomes, readings, scales
from generator.model.measure import Setup
from generator.model.settling import settle
from generator.model.symptoms import symptoms
from generator.model.work import WEAK_FRAC, work_done
from tests.circuits import (
    CLUTCH,
    FAN,
    NOTHING_IN_SERIES,
    PUMP,
    STEADY,
    STEPS,
    VALVE,
    broken_pair,
)

CHECK = TESTS["load_check"]


def checked(pair, sound):
    """What the check of the work shows of a circuit."""
    value = readings([pair], sound, [CHECK]).value[..., 0]
    return outcomes(value, scales(sound, [CHECK], STEPS), [pair[0]], [CHECK])[0][0]


def felt(pair, sound):
    """What the operator notices of it."""
    return symptoms([pair], sound)[0]


def work_of(circuit):
    """Work of one circuit that is commanded on."""
    columns = columns_of([circuit])
    state = settle(columns, columns, [Setup()])
    return float(work_done(columns, state)[0, 0, 0])


def test_pump_slows_by_what_its_ground_takes():
    """Speed (V - I·R) / k at the current T / k (Sen, ch. 4, from memory)."""
    pump = replace(PUMP, **NOTHING_IN_SERIES)
    amps = 12.0
    for ground_ohm in (1e-9, 0.2, 0.4):
        volts = 14.0 - amps * (0.15 * 1.125 + ground_ohm)
        slowed = replace(pump, load_ground_ohm=ground_ohm)
        assert work_of(slowed) == pytest.approx(volts / 0.0459, rel=1e-6)


def test_heater_works_by_the_square_of_its_current():
    """Half the current is a quarter of the heat (Joule's law)."""
    there = replace(STEADY, **NOTHING_IN_SERIES)
    halved = replace(there, load_ground_ohm=0.9)
    assert work_of(halved) == pytest.approx(work_of(there) / 4)


def test_pump_that_loses_half_its_speed_does_not_do_its_work():
    """Its current is right, which is what hides it."""
    amps, volts = 12.0, 14.0
    half_ohm = (volts - amps * 0.15 * 1.125) / 2 / amps
    slow = replace(PUMP, load_ground_ohm=half_ohm)
    current = TESTS["load_current"]
    value = readings([(slow, slow)], PUMP, [current]).value[0, 0, 0]
    assert scales(PUMP, [current], STEPS)[0].word(value) == "expected"
    assert checked((slow, slow), PUMP) == "no"
    assert felt((slow, slow), PUMP) == "works weakly"


def test_blower_that_draws_a_third_more_and_blows_does_its_work():
    """No eye sees a current."""
    leak = replace(FAN, load_to_ground_ohm=3.0, load_fuse_rating_a=40.0)
    value = readings([(leak, leak), (FAN, FAN)], FAN, [TESTS["load_current"]]).value
    assert value[0, 0, 0] / value[1, 0, 0] == pytest.approx(1.36, abs=0.03)
    assert checked((leak, leak), FAN) == "yes"
    assert felt((leak, leak), FAN) == "runs hot"


def test_work_ends_where_the_fuse_of_the_lead_opens():
    """Behind a wire that is shorted to ground the test shows no work."""
    assert checked(broken_pair(FAN, "load_wire_to_ground"), FAN) == "no"


LOADS_THAT_MOVE = {
    "fan motor": FAN,
    "pump motor": PUMP,
    "solenoid valve": VALVE,
    "magnetic clutch": CLUTCH,
}
# Past the relay nothing of it, and nothing before it, is in the way of the load.
PASSED = {"contacts_resistance", "contacts_open"}
# Of a circuit without a relay.
PASSED |= {"switch_open", "switch_shorted", "switch_bridged", "sense_too_high"}


@pytest.mark.parametrize(("kind", "sound"), LOADS_THAT_MOVE.items())
def test_check_says_what_the_operator_says(kind, sound):
    """Of every fault on the load side and in the mechanics, behind a whole fuse."""
    for fault in FAULTS.values():
        if kind not in fault.kinds or fault.side == "control side":
            continue
        if fault.is_intermittent or fault.is_advanced or fault.id in PASSED:
            continue
        pair = broken_pair(sound, fault.id)
        if np.isinf(pair[0].load_fuse_ohm):
            continue
        works = felt(pair, sound) not in ("does nothing", "works weakly")
        assert (checked(pair, sound) == "yes") == works, fault.id


def test_share_that_is_noticed_lies_between_a_tolerance_and_a_fault():
    """A load at the end of its tolerance works, one that lost a fifth does not."""
    assert 0.8 < WEAK_FRAC < 0.95**2


@pytest.mark.parametrize("sound", [FAN, PUMP], ids=["fan", "pump"])
def test_bearings_that_drag_heat_the_wires_and_leave_the_work(sound):
    """A third to a half more current, at hardly less speed."""
    pair = broken_pair(sound, "mechanism_drags")
    load = TESTS["load_current"]
    value = readings([pair, (sound, sound)], sound, [load]).value[:, 0, 0]
    assert 1.3 < value[0] / value[1] < 1.5
    assert felt(pair, sound) == "runs hot"
    assert checked(pair, sound) == "yes"
