"""The spike of a coil in closed form, against its two states followed step by step."""

import pytest

from workbook.measuring.turn_off import spike_v

# A coil with little core loss and much stray capacitance rings (invented).
RINGING = {
    "coil_pull_in_a": 0.08,
    "coil_inductance_h": 0.47,
    "coil_loss_ohm": 150e3,
    "coil_stray_f": 82e-9,
    "diode_v": 0.7,
    "diode_ohm": 0.2,
}
# Core loss damps a relay's coil, so that it swings through once.
DAMPED = {**RINGING, "coil_loss_ohm": 2.2e3, "coil_stray_f": 5e-10}


def followed_v(cut_a, value, constants, step_s=2e-8, steps=60_000):
    """Lowest voltage of the same circuit by the midpoint rule, its sign turned [V].

    The core loss lies beside the inductance, behind the copper; the stray capacitance
    and the resistor lie across the coil.
    """
    copper, loss = value["coil_ohm"], constants["coil_loss_ohm"]

    def slopes(amps, volts):
        through = (volts + loss * amps) / (copper + loss)
        across = volts / value["suppression_ohm"]
        return (
            loss * (through - amps) / constants["coil_inductance_h"],
            -(through + across) / constants["coil_stray_f"],
        )

    amps, volts, lowest = cut_a, cut_a * copper, 0.0
    for _ in range(steps):
        by_amps, by_volts = slopes(amps, volts)
        half = amps + by_amps * step_s / 2, volts + by_volts * step_s / 2
        by_amps, by_volts = slopes(*half)
        amps, volts = amps + by_amps * step_s, volts + by_volts * step_s
        lowest = min(lowest, volts)
    return -lowest


@pytest.mark.parametrize(
    ("constants", "coil_ohm", "suppression_ohm"),
    [(DAMPED, 90.0, 680.0), (RINGING, 90.0, 680.0), (RINGING, 450.0, 1e9)],
)
def test_spike_is_that_of_the_circuit_followed(constants, coil_ohm, suppression_ohm):
    """However the coil is damped; the last one's logarithm gives a turn before 0."""
    value = {
        "coil_ohm": coil_ohm,
        "suppression_ohm": suppression_ohm,
        "pull_in_a": 0.08,
        "has_diode": 0.0,
    }
    found = spike_v(0.15, value, constants)
    assert found == pytest.approx(followed_v(0.15, value, constants), rel=1e-3)
