"""Currents in time in closed form, beside ngspice: a coil that pulls, a motor's ripple.

ngspice integrates in steps what we have as pieces of exponentials; both agree to 0.1 %
of the largest current at every point compared.
"""

import math
import subprocess

import numpy as np
import pytest

from generator.model.armature import Plunger, moves_s, pull_in_trace
from generator.model.commutation import Running, ripple_trace, ripples_a_turn
from generator.model.inrush import Source
from tests.reference.ngspice import ngspice_or_skip

FRACTION_APART = 1e-3


def solved(lines, step_s, end_s, folder):
    """Times and currents that ngspice writes."""
    deck = folder / "deck.cir"
    control = [
        ".options method=trap reltol=1e-6 abstol=1e-9",
        ".control",
        "set wr_singlescale",
        f"tran {step_s!r} {end_s!r} 0 {step_s!r} uic",
        f"wrdata {folder / 'found.txt'} v(current)",
        "quit 0",
        ".endc",
        ".end",
    ]
    deck.write_text("\n".join(["* current in time", *lines, *control, ""]))
    subprocess.run(
        [ngspice_or_skip(), "-n", "-b", str(deck)],
        capture_output=True,
        timeout=60,
        check=True,
    )
    time_s, current_a = np.loadtxt(folder / "found.txt").T
    return time_s, current_a


def assert_agree(trace, theirs):
    """Compare at our own times, where our pieces are exact."""
    inside = (trace.time_s > 0) & (trace.time_s < theirs[0][-1])
    at_ours = np.interp(trace.time_s[inside], *theirs)
    most = np.abs(trace.current_a).max()
    apart = np.abs(at_ours - trace.current_a[inside])
    assert apart.max() <= FRACTION_APART * most
    assert inside.sum() > 100


COILS = {
    "relay": (14.1, 2.0, (88.0, 0.13, 0.30, 1.2e-3, 0.078)),
    "slow valve": (13.9, 0.1, (3.9, 0.035, 0.078, 6e-3, 2.1)),
    "sticks": (14.1, 2.0, (88.0, 0.13, 0.30, 1.2e-3, math.inf)),
    "too little": (14.1, 180.0, (88.0, 0.13, 0.30, 1.2e-3, 0.078)),
    "24 V": (27.6, 3.0, (300.0, 0.5, 1.1, 1.5e-3, 0.045)),
}


@pytest.mark.parametrize("case", COILS.values(), ids=COILS)
def test_coil_that_pulls_agrees_with_ngspice(case, tmp_path):
    """Its flux linkage on a capacitor of 1 F; the current is flux over inductance."""
    volts, ohms, (winding, open_h, closed_h, move_s, pull_in_a) = case
    source = Source(emf_v=volts, resistance_ohm=ohms)
    plunger = Plunger(
        winding_ohm=winding,
        open_h=open_h,
        closed_h=closed_h,
        move_s=move_s,
        pull_in_a=pull_in_a,
    )
    end_s = 6 * closed_h / winding
    start_s, _ = moves_s(source, plunger)
    moved = f"min(1,max(0,(time-{start_s!r})/{move_s!r}))" if start_s < end_s else "0"
    inductance = f"({open_h!r}+{closed_h - open_h!r}*{moved})"
    theirs = solved(
        [
            "C_flux flux 0 1 IC=0",
            f"B_flux 0 flux I={volts!r}-{ohms + winding!r}*v(flux)/{inductance}",
            f"B_current current 0 V=v(flux)/{inductance}",
        ],
        end_s / 4000,
        end_s,
        tmp_path,
    )
    assert_agree(pull_in_trace(source, plunger, end_s), theirs)


def test_coil_that_pulls_dips_and_one_that_sticks_does_not():
    """The dip ends as the armature arrives; without a move the current only rises."""
    volts, ohms, values = COILS["relay"]
    names = ("winding_ohm", "open_h", "closed_h", "move_s", "pull_in_a")
    moves = Plunger(**dict(zip(names, values, strict=True)))
    source = Source(emf_v=volts, resistance_ohm=ohms)
    trace = pull_in_trace(source, moves, 0.02)
    start_s, end_s = moves_s(source, moves)
    falling = np.diff(trace.current_a) < 0
    inside = (trace.time_s[:-1] >= start_s) & (trace.time_s[1:] <= end_s)
    assert (falling == inside).all()
    stuck = Plunger(**dict(zip(names, (*values[:4], math.inf), strict=True)))
    assert (np.diff(pull_in_trace(source, stuck, 0.02).current_a) > 0).all()


@pytest.mark.parametrize("bars", [8, 12])
@pytest.mark.parametrize("bad_ohm", [0.0, 1.2, 4.0])
def test_ripple_agrees_with_ngspice(bars, bad_ohm, tmp_path):
    """The armature's voltage is the top of a sine, again and again."""
    motor = Running(
        source=Source(emf_v=14.0, resistance_ohm=0.06),
        resistance_ohm=0.17,
        inductance_h=2e-4,
        emf_v=11.6,
        speed_rad_s=255.0,
        ripples=ripples_a_turn(bars),
    )
    count = bars
    extra = [bad_ohm if n % (bars // 2) == 2 else 0.0 for n in range(count)]
    trace = ripple_trace(motor, extra)
    span = motor.ripple_s
    half = math.pi / bars
    top_v = 11.6 * half / math.sin(half)
    phase = f"(time-{span!r}*floor(time/{span!r}))"
    number = f"floor(time/{span!r})"
    in_half = f"({number}-{bars // 2}*floor({number}/{bars // 2}))"
    bad = f"{bad_ohm!r}*(abs({in_half}-2)<0.5 ? 1 : 0)"
    theirs = solved(
        [
            "V_supply s 0 14.0",
            "R_all s a 0.23",
            f"B_bad a b V=i(V_meter)*{bad}",
            "V_meter b c 0",
            f"L_armature c d 2e-4 IC={float(trace.current_a[0])!r}",
            f"B_back d 0 V={top_v!r}*cos({motor.speed_rad_s!r}*{phase}-{half!r})",
            "B_current current 0 V=i(V_meter)",
        ],
        span / 4000,
        count * span,
        tmp_path,
    )
    assert_agree(trace, theirs)


def test_ripples_of_a_turn_are_the_least_common_multiple():
    """Even bars: as many; odd ones and two poles: twice as many.

    A motor of three sectors gives six spikes a turn (precisionmicrodrives.com, "Using
    DC motor commutation spikes to measure motor speed").
    """
    assert ripples_a_turn(3) == 6
    assert [ripples_a_turn(bars) for bars in (8, 10, 12)] == [8, 10, 12]


def test_mean_of_sound_ripples_is_volts_over_ohms():
    """The ripple adds nothing to the mean: supply less back-EMF, over all ohms."""
    motor = Running(
        source=Source(emf_v=14.0, resistance_ohm=0.06),
        resistance_ohm=0.17,
        inductance_h=2e-4,
        emf_v=11.6,
        speed_rad_s=255.0,
        ripples=12,
    )
    trace = ripple_trace(motor, (0.0,) * 5)
    assert trace.current_a.mean() == pytest.approx((14.0 - 11.6) / 0.23, rel=1e-3)
