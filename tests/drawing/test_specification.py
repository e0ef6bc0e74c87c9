"""A specification is a circuit that could be built, and says what it promises."""

from dataclasses import fields, replace

import pytest

from generator.drawing.specification import new_specification
from generator.drawing.stream import Stream
from generator.model.measure import Setup
from generator.model.parts import wire_resistance
from generator.model.variant import Variant
from lessons.loader import read_lesson
from tests.circuits import NOTHING_IN_SERIES, current, settled
from tests.drawn import BOOK, SECRET

FAMILIES = {family.id: family for family in BOOK.families}
ALL = {family.id: family for family in read_lesson("whole-circuit").families}
DRAWS = range(12)


def drawn(family, label=0, lesson=BOOK.lesson, **built):
    """One specification of a family, in the plainest variant or one given."""
    stream = Stream(SECRET.value, "specification test", family, label)
    variant = Variant(**built)
    return new_specification(lesson, ALL[family], variant, stream)


def with_coil(*states):
    """The lesson, its coils in some states."""
    return BOOK.lesson.model_copy(update={"coil": states})


def at_rated_voltage(nominal):
    """A circuit with nothing between a source of its rated voltage and its load."""
    return replace(nominal, supply_v=nominal.rated_v, **NOTHING_IN_SERIES)


@pytest.mark.parametrize("family", FAMILIES)
def test_load_draws_its_rated_current_at_its_rated_voltage(family):
    """What the sheet says of the load is what its model draws."""
    for label in DRAWS:
        nominal = drawn(family, label, with_coil("workshop", "after work")).nominal
        found = current(at_rated_voltage(nominal), "load")
        assert found == pytest.approx(nominal.load_rated_a, rel=1e-6)


def test_motor_turns_at_a_speed_of_its_family():
    """Back-EMF over constant is a speed in the range of the family's file."""
    low, high = FAMILIES["cooler-fan"].ranges.speed_rad_s
    for label in DRAWS:
        nominal = drawn("cooler-fan", label).nominal
        back_v = -settled(at_rated_voltage(nominal)).emf("load")[0, 0, 0]
        assert low <= back_v / nominal.motor_constant_vs <= high


@pytest.mark.parametrize("family", FAMILIES)
def test_nominal_values_lie_in_the_ranges_of_the_family(family):
    """Rated current, coil and supply come from the files."""
    ranges = FAMILIES[family].ranges
    for label in DRAWS:
        nominal = drawn(family, label, with_coil("workshop", "after work")).nominal
        assert ranges.rated_a[0] <= nominal.load_rated_a <= ranges.rated_a[1]
        assert ranges.coil_ohm[0] <= nominal.sheet_coil_ohm <= ranges.coil_ohm[1]
        assert nominal.suppression_ohm in ranges.suppression_ohm
        assert ranges.hot_frac[0] <= nominal.hot_frac <= ranges.hot_frac[1]
        assert BOOK.lesson.supply_v[0] <= nominal.supply_v <= BOOK.lesson.supply_v[1]


@pytest.mark.parametrize("family", FAMILIES)
def test_wires_are_copper_of_the_stated_area(family):
    """Each load wire has the ohms of its length, and a few milliohms of terminals."""
    ranges = FAMILIES[family].ranges
    area = ranges.wire_area_mm2[0]
    specification = drawn(family)
    assert specification.area_mm2 == area
    for name, (shortest, longest) in {
        "load_feed_ohm": ranges.wire_length_m,
        "load_wire_ohm": ranges.load_wire_m,
        "load_ground_ohm": ranges.wire_length_m,
    }.items():
        ohms = getattr(specification.nominal, name)
        assert wire_resistance(shortest, area) < ohms
        assert ohms < wire_resistance(longest, area) + 0.010


@pytest.mark.parametrize("family", FAMILIES)
def test_built_circuit_keeps_its_tolerances(family):
    """Each value with a tolerance varies within it; every other one is nominal."""
    specification = drawn(family)
    stream = Stream(SECRET.value, "built")
    built = [specification.built(stream) for _ in range(50)]
    for field in fields(specification.nominal):
        nominal = getattr(specification.nominal, field.name)
        values = [getattr(circuit, field.name) for circuit in built]
        limit = specification.tolerance_frac.get(field.name)
        if limit is None:
            assert set(values) == {nominal}
        else:
            assert max(abs(v / nominal - 1) for v in values) <= limit
            assert max(values) > nominal > min(values)


@pytest.mark.parametrize("family", FAMILIES)
def test_steps_are_rectangles_of_the_tolerances(family):
    """A limit over √3, each."""
    specification = drawn(family)
    for name, step in specification.steps.items():
        assert step == pytest.approx(specification.tolerance_frac[name] / 1.7320508)


@pytest.mark.parametrize("family", FAMILIES)
def test_sheet_says_what_the_circuit_is(family):
    """Supply, coil with its suppression, rated current and cold ohms."""
    specification = drawn(family)
    nominal = specification.nominal
    coil = nominal.sheet_coil_ohm * nominal.suppression_ohm
    coil /= nominal.sheet_coil_ohm + nominal.suppression_ohm
    values = {row.quantity: row.value for row in specification.sheet}
    expected = {
        "Supply voltage, engine running": nominal.supply_v,
        "Resistance between terminals 85 and 86": coil,
        "Load current at 13.5 V": nominal.load_rated_a,
        "Resistance of the load, cold": nominal.sheet_load_ohm,
        "Load fuse": nominal.load_fuse_rating_a,
    }
    for quantity, value in expected.items():
        assert values[quantity] == pytest.approx(value, rel=5e-3)


@pytest.mark.parametrize("family", FAMILIES)
def test_sheet_states_the_tolerances_of_the_family(family):
    """Numbers with a tolerance say it; limits have none."""
    percent = FAMILIES[family].tolerance_percent
    stated = {row.quantity: row.tolerance_percent for row in drawn(family).sheet}
    assert stated["Load current at 13.5 V"] == percent.rated
    assert stated["Resistance between terminals 85 and 86"] == percent.coil
    assert all(not limit for name, limit in stated.items() if "at most" in name)


@pytest.mark.parametrize("family", FAMILIES)
def test_sound_sections_keep_the_limits_of_the_sheet(family):
    """At rated load every section drops less than its stated limit."""
    specification = drawn(family)
    limits = {
        r.quantity: r.value for r in specification.sheet if r.quantity[:5] == "Drop "
    }
    assert len(limits) == 4
    for text, probe in (
        ("supply to 30", "supply-30"),
        ("30 to 87", "30-87"),
        ("87 to load", "87-load"),
        ("load to ground", "load-ground"),
    ):
        state = settled(specification.nominal, Setup(probe=probe))
        drop = state.meter_voltage(probe)[0, 0, 0]
        assert 0 < drop < limits[f"Drop {text}, at most"]


@pytest.mark.parametrize("family", FAMILIES)
def test_names_fill_every_text(family):
    """No brace is left, and each part has a designation of its family."""
    names = drawn(family).names
    text = "{load} {work} {mechanism} {control_fuse} {load_fuse} {relay} {module}"
    assert "{" not in names.fill(text)
    assert names.relay in FAMILIES[family].names.relay
    assert names.control_fuse in FAMILIES[family].names.control_fuse


@pytest.mark.parametrize("family", FAMILIES)
def test_wires_that_a_student_tells_apart_have_colours_of_their_own(family):
    """Feed, return and load wire of one circuit never look the same."""
    for label in DRAWS:
        colours = drawn(family, label).names.colours
        told_apart = [
            colours[n] for n in ("control_feed", "control_return", "load_wire")
        ]
        assert len(set(told_apart)) == 3


def test_same_stream_draws_the_same_specification():
    """Nothing but the stream decides."""
    assert drawn("cooler-fan", 5) == drawn("cooler-fan", 5)
    assert drawn("cooler-fan", 5) != drawn("cooler-fan", 6)


@pytest.mark.parametrize(
    ("family", "state", "coldest", "warmest"),
    [
        ("wiper-heater", "cold morning", -28, -20),
        ("tiller-lock", "cold morning", -28, -20),
        ("wiper-heater", "after work", 65, 85),
        ("cooler-fan", "after work", 65, 85),
    ],
)
def test_sheet_says_how_warm_the_coil_is_and_its_ohms_at_twenty_degrees(
    family, state, coldest, warmest
):
    """The ohms of the sheet, by 0.393 % a kelvin, are those of the circuit."""
    for label in DRAWS:
        specification = drawn(family, label, with_coil(state))
        values = {row.quantity: row.value for row in specification.sheet}
        (at,) = (v for name, v in values.items() if "emperature at these ohms" in name)
        (degc,) = (v for name, v in values.items() if "in all tests" in name)
        assert at == 20.0
        assert coldest <= degc <= warmest
        nominal = specification.nominal
        together = values["Resistance between terminals 85 and 86"]
        sheet_ohm = 1 / (1 / together - 1 / nominal.suppression_ohm)
        warm_ohm = sheet_ohm * (1 + 0.00393 * (degc - 20))
        assert nominal.coil_ohm == pytest.approx(warm_ohm, rel=6e-3)


@pytest.mark.parametrize("family", ALL)
def test_only_what_needs_heat_is_never_met_on_a_cold_morning(family):
    """A fan that waits for hot oil or coolant does not run after a night outside."""
    lesson = with_coil("cold morning", "after work")
    found = {drawn(family, label, lesson).nominal.coil_degc < 20 for label in DRAWS}
    needs_heat = family in ("cooler-fan", "radiator-fan")
    assert found == ({False} if needs_heat else {True, False})
    alone = drawn(family, 0, with_coil("cold morning")).nominal.coil_degc
    assert (alone < 20) == (not needs_heat)


def test_families_that_wait_for_heat_say_so():
    """Of ours each whose enable inputs name a temperature to be above, and no other."""
    waiting = {
        family.id
        for family in ALL.values()
        if any("above" in each and "°C" in each for each in family.enable)
    }
    assert waiting == {family.id for family in ALL.values() if family.needs_heat}


def cold(family, label=0):
    """A circuit after a night outside, and the same one at 20 °C."""
    found = (drawn(family, label, with_coil(s)) for s in ("cold morning", "workshop"))
    return [specification.nominal for specification in found]


@pytest.mark.parametrize(
    ("family", "per_k"),
    [
        ("tiller-lock", 0.00393),
        ("winch-clutch", 0.00393),
        ("cab-blower", 0.00393),
        ("transfer-pump", 0.00393),
        ("tiller-lights", 0.0045),
        ("wiper-heater", 0.0),
        ("seat-heater", 0.0),
    ],
)
def test_load_that_stood_outside_has_the_ohms_of_its_material_there(family, per_k):
    """By the coefficients of copper and tungsten; heating wire hardly changes."""
    for label in DRAWS:
        outside, plain = cold(family, label)
        share = 1 + per_k * (outside.coil_degc - 20)
        assert outside.load_ohm == pytest.approx(share * plain.load_ohm)
        assert outside.sheet_load_ohm == pytest.approx(plain.load_ohm)


@pytest.mark.parametrize("family", ["tiller-lock", "crane-valve", "winch-clutch"])
def test_winding_that_stood_outside_draws_more(family):
    """Its ohms are those of 20 °C less the share of the cold, plus its own heat's.

    The heat's share goes with its power, which at the rated voltage is as its current.
    """
    for label in DRAWS:
        outside, plain = cold(family, label)
        amperes = current(at_rated_voltage(outside), "load")
        heat = amperes / plain.load_rated_a
        share = 1 + 0.00393 * (outside.coil_degc - 20) + (plain.hot_frac - 1) * heat
        ohms = plain.load_ohm * share
        assert amperes == pytest.approx(plain.rated_v / ohms)
        assert amperes > 1.08 * plain.load_rated_a


@pytest.mark.parametrize(
    ("family", "most"),
    [
        ("tiller-lights", 0.0),
        ("crane-lights", 0.0),
        ("wiper-heater", 0.0),
        ("transfer-pump", 0.0),
        ("cab-blower", 0.07),
    ],
)
def test_current_of_other_loads_hardly_knows_the_night(family, most):
    """A filament glows as hot as ever; pressure or back-EMF holds a motor's current."""
    for label in DRAWS:
        outside, plain = cold(family, label)
        amperes = current(at_rated_voltage(outside), "load")
        assert -1e-6 <= amperes / plain.load_rated_a - 1 <= most + 1e-6


@pytest.mark.parametrize("family", FAMILIES)
def test_temperature_of_the_coil_changes_nothing_else(family):
    """Neither what is drawn besides, nor the current at which the relay pulls in."""
    plain = drawn(family, 3, with_coil("workshop"))
    warm = drawn(family, 3, with_coil("after work"))
    same = replace(
        warm.nominal,
        coil_ohm=plain.nominal.coil_ohm,
        coil_degc=plain.nominal.coil_degc,
    )
    assert same == plain.nominal
    assert warm.nominal.coil_ohm > 1.15 * plain.nominal.coil_ohm
    assert (warm.source_names, warm.reach_min) == (plain.source_names, plain.reach_min)
