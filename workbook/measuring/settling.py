"""How one circuit settles in a set-up: driver, contacts and load find their states.

Everything nonlinear is put at its operating point in a few linear solutions, so that
what an instrument sees afterwards is a linear network.

References
----------
As in the physics of the instructor's machine: a relay closes by its coil current, a
driver above its limit is a source of that current or shuts off, a permanent-magnet
motor meets its drag, a winding or filament its warmth.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from workbook.measuring.network import Solved, Topology, topology_of
from workbook.record.bench import Case, Model, Pair
from workbook.record.set_up import PARTS, SetUp

# A load that carries less does not work.
_LEAST_A = 1e-9
# How finely the slope of what a load draws is taken.
_STEP_FRAC = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """One circuit at its operating point.

    Parameters
    ----------
    ohm, emf_v : list, length n_branches
        Linear there [Ω], [V]; None is open.
    current_a : list of float, length n_branches
    coil_frac : float
        Coil current over the pull-in current, infinite where no contacts can move; of
        a smart switch the current that it senses over what it shuts off at.
    blown : tuple of str
        Branches of leads and jumpers whose fuse opened at once.
    load_pull : dict of str to float
        By how many volts a load pushes back when one standard uncertainty is added to
        each of its values.
    load_slope_ohm : float or None
        Change of voltage over change of current of a load that works [Ω].
    """

    ohm: list[float | None]
    emf_v: list[float]
    current_a: list[float]
    coil_frac: float
    blown: tuple[str, ...]
    load_pull: Mapping[str, float]
    load_slope_ohm: float | None


class Circuits:
    """The circuits of one exercise, each settled once in each state."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.at = {name: n for n, (name, *_ends) in enumerate(model.branches)}
        self.ends = tuple((one, two) for _, one, two in model.branches)
        self.topology = topology_of(self.ends)
        self._settled: dict[tuple[object, ...], Settled] = {}

    def settled(self, pair: Pair, state: SetUp) -> Settled:
        """Settle a circuit in what is switched, pulled and plugged."""
        case = pair.calm
        if state.harness == "moved" and pair.moved is not None:
            case = pair.moved
        ohm, value = (
            self.resistances(case, state),
            {
                **self.model.sound.value,
                **case.value,
            },
        )
        # Most faults leave most states as they are: equal circuits are settled once.
        key = (*ohm, *value.values(), *self._leads(state))
        if key not in self._settled:
            self._settled[key] = self._in_state(ohm, value, state)
        return self._settled[key]

    def resistances(self, case: Case, state: SetUp) -> list[float | None]:
        """Resistance of each branch in a state, the contacts as if closed [Ω]."""
        sound = self.model.sound
        ohm = {**sound.ohm, **case.ohm}
        for group in ("command", *PARTS):
            option = f"{group} {getattr(state, group)}"
            ohm |= sound.edits.get(option, {})
            ohm |= case.edits.get(option, {})
        return [ohm[name] for name in self.at]

    def _leads(self, state: SetUp) -> list[str]:
        """Branches that are a fused lead or jumper."""
        own = {"control_fuse": state.control_fuse, "load_fuse": state.load_fuse}
        found = [part for part, option in own.items() if option == "lead"]
        return found + (["jumper"] if state.is_bridged else [])

    def _in_state(
        self, ohm: Sequence[float | None], value: Mapping[str, float], state: SetUp
    ) -> Settled:
        """Settle; the fuse of a lead that carries far too much opens, and so again."""
        settled = self._found(list(ohm), value)
        over = tuple(
            name
            for name in self._leads(state)
            if abs(settled.current_a[self.at[name]]) > self.model.leads_a[name]
        )
        if not over:
            return settled
        without = list(ohm)
        for name in over:
            without[self.at[name]] = None
        again = self._found(without, value)
        return replace(again, coil_frac=settled.coil_frac, blown=over)

    def _found(self, ohm: list[float | None], value: Mapping[str, float]) -> Settled:
        at, emf = self.at, [0.0] * len(ohm)
        emf[at["battery"]] = value["supply_v"]
        made = ohm[at["contacts"]]
        is_welded = value["is_welded"] > 0
        # The coil decides with the contacts still open, as they are before they close.
        ohm[at["contacts"]] = made if is_welded else None
        rest, ohm[at["break_contact"]] = ohm[at["break_contact"]], None
        idle = self.topology.solve(ohm, emf)
        if self._limits(ohm, emf, value, idle):
            idle = self.topology.solve(ohm, emf)
        coil_frac = idle.current_a[at["coil"]] / value["pull_in_a"]
        is_smart = value["is_smart"] > 0
        # Without a relay the command itself closes the path.
        conducts = ohm[at["low_driver"]] is not None if is_smart else coil_frac >= 1
        pulls = is_welded or conducts
        ohm[at["contacts"]] = made if pulls else None
        ohm[at["break_contact"]] = None if pulls else rest
        cold = ohm[at["load"]]
        pull, slope = self._work(ohm, emf, value)
        solved = self.topology.solve(ohm, emf)
        if is_smart:
            sensed_a = solved.current_a[at["contacts"]] * value["sense_frac"]
            coil_frac = sensed_a / value["shut_off_a"]
            if coil_frac > 1 and not is_welded:
                # It has shut off: what it fed stands, and is cold again.
                ohm[at["contacts"]], ohm[at["load"]] = None, cold
                emf[at["load"]], pull, slope = 0.0, {}, None
                solved = self.topology.solve(ohm, emf)
        self._linearise(ohm, emf, solved)
        is_in = made is not None or rest is not None
        can_move = is_in and not is_welded
        return Settled(
            ohm=ohm,
            emf_v=emf,
            current_a=solved.current_a,
            coil_frac=coil_frac if can_move else math.inf,
            blown=(),
            load_pull=pull,
            load_slope_ohm=slope,
        )

    def _limits(
        self,
        ohm: list[float | None],
        emf: list[float],
        value: Mapping[str, float],
        idle: Solved,
    ) -> bool:
        """Let a driver above its limit shut off, or be a source of that current."""
        driver = self.at["high_driver" if value["is_high_side"] else "low_driver"]
        limit, own = value["driver_limit_a"], ohm[driver]
        if own is None or not idle.current_a[driver] > limit:
            return False
        if value["does_driver_shut_off"]:
            ohm[driver] = None
        else:
            # A source of the limit's current: so much resistance that no circuit
            # changes it.
            steep = self.model.constants["limiter_ohm"]
            ohm[driver], emf[driver] = own + steep, steep * limit
        return True

    def _linearise(
        self, ohm: list[float | None], emf: list[float], solved: Solved
    ) -> None:
        """Write a driver that limits as the resistance of its operating point."""
        for name in ("high_driver", "low_driver"):
            driver = self.at[name]
            own = ohm[driver]
            if own is not None and emf[driver] > 0:
                ohm[driver] = own - emf[driver] / solved.current_a[driver]
                emf[driver] = 0.0

    def _work(
        self, ohm: list[float | None], emf: list[float], value: Mapping[str, float]
    ) -> tuple[dict[str, float], float | None]:
        """Put a load that is fed at its operating point, on what the rest gives it."""
        load = self.at["load"]
        cold = ohm[load]
        if cold is None:
            return {}, None
        # Two states give what the rest is to the load (Thévenin): its current as it
        # stands cold, and the voltage where it is taken out.
        standing = self.topology.solve(ohm, emf).current_a[load]
        if not standing > _LEAST_A:
            return {}, None
        ohm[load] = None
        volts = self.topology.solve(ohm, emf).voltage_v
        ohm[load] = cold
        plus, minus = (volts[end] for end in self.topology.ends[load])
        if plus is None or minus is None:
            return {}, None
        open_v = plus - minus
        source = _Source(open_v, open_v / standing - cold)
        law = _Load(value, self.model.constants)
        ohm[load], emf[load] = law.at(source)
        return self._pull(law, source)

    def _pull(
        self, law: _Load, source: _Source
    ) -> tuple[dict[str, float], float | None]:
        """How a load answers a change of its values, and of what feeds it."""
        now = law.current(source)
        more = law.current(_Source(source.volts * (1 + _STEP_FRAC), source.ohm))
        if not more > now:
            # A pump holds its current, whatever feeds it: an endless slope.
            whole = source.ohm * 1e6
        else:
            # Ohms of source and load together, as small changes see them: what a change
            # of current comes to in volts, and less the source's own the load's slope.
            whole = source.volts * _STEP_FRAC / (more - now)
        pull = {
            name: (law.stepped(name, frac).current(source) - now) * whole
            for name, frac in self.model.tolerances.items()
            if name in _Load.NAMES
        }
        return pull, max(whole - source.ohm, 1e-9)


class _Source:
    """What feeds a load: open-circuit voltage and resistance in series."""

    __slots__ = ("ohm", "volts")

    def __init__(self, volts: float, ohm: float) -> None:
        self.volts, self.ohm = volts, ohm


class _Load:
    """What a load makes of a source that feeds it."""

    NAMES = ("load_ohm", "motor_constant_vs", "fan_nms2", "friction_nm")

    def __init__(
        self, value: Mapping[str, float], constants: Mapping[str, float]
    ) -> None:
        self.value, self.constants = value, constants

    def stepped(self, name: str, frac: float) -> _Load:
        """The same load with one value larger by a fraction."""
        value = {**self.value, name: self.value[name] * (1 + frac)}
        return _Load(value, self.constants)

    def current(self, source: _Source) -> float:
        """What it draws [A]."""
        ohm, emf = self.at(source)
        return (source.volts + emf) / (source.ohm + ohm)

    def at(self, source: _Source) -> tuple[float, float]:
        """Resistance and emf at which it settles [Ω], [V]."""
        if self.value["motor_constant_vs"] > 0:
            armature = self.value["load_ohm"] * self.value["hot_frac"]
            return armature, -self._back_emf(source, source.ohm + armature)
        return self._warm(source), 0.0

    def _back_emf(self, source: _Source, series_ohm: float) -> float:
        constant, fan = self.value["motor_constant_vs"], self.value["fan_nms2"]
        # Torque of the current is that of friction and fan: k (U − k ω) / R = T + f ω².
        # The root is written so that it loses no digits, and holds without a fan.
        damping = constant**2 / series_ohm
        torque = constant * source.volts / series_ohm
        spare = max(torque - self.value["friction_nm"], 0.0)
        speed = 2 * spare / (damping + math.sqrt(damping**2 + 4 * fan * spare))
        return constant * speed

    def _warm(self, source: _Source) -> float:
        value = self.value
        cold, hot = value["load_ohm"] / value["duty_frac"], value["hot_frac"]
        rated_w = value["rated_v"] * value["load_rated_a"]
        most, exponent = self.constants["most_heat_frac"], value["lamp_exponent"]
        ohm, series, volts = cold * hot, source.ohm, source.volts
        for _ in range(int(self.constants["warming_steps"])):
            own_v = volts * ohm / (series + ohm)
            if exponent > 0:
                glow = math.pow(own_v / value["rated_v"], exponent)
                target = cold * max(1.0, hot * glow)
            else:
                power_frac = min(own_v**2 / ohm / rated_w, most)
                # Copper and mats warm by the share of their rated power.
                target = cold * (1 + (hot - 1) * power_frac)
            # Half of the way each time, and always so many times: the same last digit
            # as the batch solver has.
            ohm = (ohm + target) / 2
        return ohm


@lru_cache(maxsize=4)
def circuits_of(model: Model) -> Circuits:
    """Keep the circuits of an exercise with what was found of them."""
    return Circuits(model)


def topology_with(circuits: Circuits, plus: str, minus: str) -> Topology:
    """The topology with an instrument between two points, its last branch."""
    return topology_of((*circuits.ends, (plus, minus)))
