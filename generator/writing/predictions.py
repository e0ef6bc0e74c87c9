"""What a student predicts, the band that counts as right, and known wrong rules."""

from dataclasses import dataclass
from itertools import pairwise

from generator.model.circuit import RelayCircuit
from generator.model.diagnostics import Scale
from generator.model.instruments import CLAMP_10, CLAMP_100
from generator.writing.wording import short_text

__all__ = ["Misconception", "Prediction", "new_predictions", "new_verification"]

# Wrong rules that are no thought, only a decimal point in the wrong place.
_SLIPS = ("milli_lost", "ten_times", "tenth")


@dataclass(frozen=True, slots=True, kw_only=True)
class Misconception:
    """A wrong rule, the number it gives, and the words that put it right."""

    id: str
    value: float
    band: tuple[float, float]
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction:
    """A number asked of the student, in the base unit, with its expected band."""

    id: str
    label: str
    help: str
    unit: str
    value: float
    band: tuple[float, float]
    misconceptions: tuple[Misconception, ...]
    right: str
    wrong: str

    @property
    def is_clear(self) -> bool:
        """Whether no wrong rule comes near the right band or another wrong rule."""
        bands = sorted([self.band, *(m.band for m in self.misconceptions)])
        return all(low[1] < high[0] for low, high in pairwise(bands))


def _amperes(value: float) -> str:
    return short_text(value, "A")


def _band_text(band: tuple[float, float], unit: str = "A") -> str:
    return f"{short_text(band[0], unit)} to {short_text(band[1], unit)}"


def _wrong(
    right: float, band: tuple[float, float], rules: dict[str, tuple[float, str]]
) -> tuple[Misconception, ...]:
    """Give each wrong rule a band as wide, relative to its value, as the right one.

    A slip of the decimal point that a rule of thought explains too is left out.
    """
    low, high = band[0] / right, band[1] / right
    given = [
        Misconception(id=name, value=value, band=(value * low, value * high), text=text)
        for name, (value, text) in rules.items()
    ]
    thought = [rule.band for rule in given if rule.id not in _SLIPS]
    return tuple(
        rule
        for rule in given
        if rule.id not in _SLIPS or not any(_meet(rule.band, o) for o in thought)
    )


def _meet(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return one[0] <= other[1] and other[0] <= one[1]


def new_predictions(
    nominal: RelayCircuit, control: tuple[float, Scale], load: tuple[float, Scale]
) -> tuple[Prediction, ...]:
    """Ask for both currents and for the clamp's display at the control fuse.

    Parameters
    ----------
    nominal : RelayCircuit
        The sound circuit.
    control, load : pair of float and Scale
        Current of the sound circuit at each fuse [A] and the scale of its test.
    """
    return (
        _control_current(nominal, control, load[0]),
        _load_current(nominal, load, control[0]),
        _control_display(nominal, control),
    )


def _control_place(nominal: RelayCircuit) -> str:
    """Where the clamp reads the control current alone."""
    return "in the wire to the coil" if nominal.is_fuse_shared else "at its fuse"


def _control_current(
    nominal: RelayCircuit, control: tuple[float, Scale], load_a: float
) -> Prediction:
    value, band = control[0], _band_of(control)
    supply = nominal.supply_v
    together = 1 / (1 / nominal.coil_ohm + 1 / nominal.suppression_ohm)
    rules = {
        "other_circuit": (load_a, "That is the current of the load circuit."),
        "ohms_over_volts": (
            together / supply,
            "That is ohms divided by volts; current is volts divided by ohms.",
        ),
        "volts_times_ohms": (
            supply * together,
            "That is volts times ohms; current is volts divided by ohms.",
        ),
        "milli_lost": (value * 1000, "Those are milliamperes, written as amperes."),
        "ten_times": (value * 10, "That is ten times too much: check the decimals."),
        "tenth": (value / 10, "That is a tenth of it: check the decimals."),
    }
    return Prediction(
        id="coil_current",
        label=f"Control current {_control_place(nominal)} with the relay commanded on",
        help="Supply voltage and the resistance between terminals 85 and 86.",
        unit="A",
        value=value,
        band=band,
        misconceptions=_wrong(value, band, rules),
        right=f"{supply:.1f} V ÷ {together:.0f} Ω is about {_amperes(value)}; "
        f"with its tolerances a sound circuit reads {_band_text(band)}.",
        wrong=f"Current is volts divided by ohms: {supply:.1f} V ÷ {together:.0f} Ω is "
        f"about {_amperes(value)}; a sound circuit reads {_band_text(band)}.",
    )


def _load_current(
    nominal: RelayCircuit, load: tuple[float, Scale], control_a: float
) -> Prediction:
    value, band = load[0], _band_of(load)
    supply = nominal.supply_v
    rules = {
        "other_circuit": (control_a, "That is the current of the control circuit."),
        **_cold_rule(nominal),
        "milli_lost": (value * 1000, "Those are milliamperes, written as amperes."),
        "ten_times": (value * 10, "That is ten times too much: check the decimals."),
        "tenth": (value / 10, "That is a tenth of it: check the decimals."),
    }
    rated = f"{nominal.load_rated_a:g} A at {nominal.rated_v:g} V"
    what, more = "Load current at its fuse", ""
    if nominal.is_fuse_shared:
        what, more = "Both currents at the fuse", " plus the control current"
    return Prediction(
        id="load_current",
        label=f"{what} with the load running",
        help="The rated current on the specification sheet, at this supply voltage"
        f"{more}.",
        unit="A",
        value=value,
        band=band,
        misconceptions=_wrong(value, band, rules),
        right=f"{rated}{more} is about {_amperes(value)} at the fuse; "
        f"with its tolerances a sound circuit reads {_band_text(band)}.",
        wrong=f"The sheet gives {rated}; at {supply:.1f} V, less the drop in the "
        f"wires{more}, that is about {_amperes(value)}. A sound circuit reads "
        f"{_band_text(band)}.",
    )


def _cold_rule(nominal: RelayCircuit) -> dict[str, tuple[float, str]]:
    """Supply over the ohms of the sheet, where that is far from the current."""
    if nominal.motor_constant_vs:
        text = (
            "That is supply over the cold resistance: a motor that turns makes a "
            "voltage of its own against the supply, and draws far less."
        )
    elif nominal.lamp_exponent:
        text = (
            "That is supply over the cold resistance: a filament that glows has many "
            "times as many ohms, and only the first instant draws so much."
        )
    elif nominal.duty_frac < 1:
        text = (
            "That is the current of a pulse: the load is on for a part of the time, "
            "and the clamp shows the mean."
        )
    else:
        # A winding or mat follows its resistance: the rule is nearly right.
        return {}
    return {"cold_ohms": (nominal.supply_v / nominal.load_ohm, text)}


def _control_display(nominal: RelayCircuit, control: tuple[float, Scale]) -> Prediction:
    current, (low, high) = control[0], _band_of(control)
    where = "at the control fuse"
    if nominal.is_fuse_shared:
        where = _control_place(nominal)
    scale = CLAMP_100.scale_v_per_a
    value, band = current * scale, (low * scale, high * scale)
    rules = {
        "scale_of_ten": (value / 10, "That is the display on the 10 mV/A scale."),
        "scale_of_thousand": (value * 10, "That is the display on a 1 V/A scale."),
        "current_itself": (
            current / 1000,
            "That is the current's own number with mV behind it: amperes times the "
            "scale give millivolts.",
        ),
        "volts_for_millivolts": (value * 1000, "Those are millivolts, called volts."),
    }
    return Prediction(
        id="control_display",
        label=f"Meter display behind the clamp {where}, 100 mV/A scale",
        help="Control current times the scale; on 100 mV/A, 10 mA is 1 mV.",
        unit="V",
        value=value,
        band=band,
        misconceptions=_wrong(value, band, rules),
        right=f"{_amperes(current)} × 100 mV/A is {short_text(value, 'V')}.",
        wrong=f"{_amperes(current)} × 100 mV/A is {short_text(value, 'V')}; a sound "
        f"circuit shows {_band_text(band, 'V')}.",
    )


def new_verification(nominal: RelayCircuit, load: tuple[float, Scale]) -> Prediction:
    """Ask what the meter will show at the fuse of the load after the repair.

    Parameters
    ----------
    nominal : RelayCircuit
        The sound circuit.
    load : pair of float and Scale
        Its current at that fuse [A], of both circuits where they share it, and the
        scale of the test.
    """
    current, (low, high) = load[0], _band_of(load)
    scale = CLAMP_10.scale_v_per_a
    value, band = current * scale, (low * scale, high * scale)
    rules = {
        "scale_of_ten": (value * 10, "That is the display on the 100 mV/A scale."),
        "scale_of_one": (value / 10, "That is the display on a 1 mV/A scale."),
        "volts_for_millivolts": (value * 1000, "Those are millivolts, called volts."),
    }
    fuse, what, drawn = "load fuse", "Load current", "the load draws"
    if nominal.is_fuse_shared:
        fuse, what = "shared fuse", "Load current plus control current"
        drawn = "load and coil together draw"
    return Prediction(
        id="load_display_after_repair",
        label=f"Meter display behind the clamp at the {fuse} after the repair, "
        "10 mV/A scale",
        help=f"{what} of the sound circuit times the scale.",
        unit="V",
        value=value,
        band=band,
        misconceptions=_wrong(value, band, rules),
        right=f"{_amperes(current)} × 10 mV/A is {short_text(value, 'V')}, and "
        "that reading proves the repair.",
        wrong=f"After the repair {drawn} {_amperes(current)} again: × 10 mV/A "
        f"is {short_text(value, 'V')}, anything from "
        f"{_band_text(band, 'V')}.",
    )


def _band_of(pair: tuple[float, Scale]) -> tuple[float, float]:
    band = pair[1].band
    if band is None:
        raise ValueError("a current test always has an expected band")
    return band
