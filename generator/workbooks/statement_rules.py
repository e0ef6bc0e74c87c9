"""What misconceptions of the catalogue would say that a reading proves, by test."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A wrong rule: it clears some sections, or suspects only some.

    ``id`` is its name in the catalogue of misconceptions. ``clears`` and ``suspects``
    hold ids of sections, or the name of a whole circuit; one of them is empty.
    ``when`` holds the outcomes from which the rule is drawn; empty, from any.
    """

    id: str
    when: tuple[str, ...] = ()
    clears: tuple[str, ...] = ()
    suspects: tuple[str, ...] = ()


def _blames(id_: str, *suspects: str, when: tuple[str, ...] = ()) -> Rule:
    return Rule(id=id_, when=when, suspects=suspects)


def _clears(id_: str, *clears: str, when: tuple[str, ...]) -> Rule:
    return Rule(id=id_, when=when, clears=clears)


_CONTROL, _LOAD = "control circuit", "load circuit"
_RELAY = ("coil", "contacts")
_FUSE_OF_CONTROL = ("control_fuse", "shared_fuse")
_FUSE_OF_LOAD = ("load_fuse", "shared_fuse")
_NONE, _EXPECTED, _SUPPLY = ("none",), ("expected",), ("supply voltage",)

_NO_CURRENT = _blames("none_blames_relay", *_RELAY, when=_NONE)
_NO_WORK = _blames(
    "no_work_blames_load", "load", when=("none", "low", "no", "stuck", "heavy")
)
_RUNS_BRIDGED = _blames("bridged_run_blames_relay", *_RELAY, when=("expected", "yes"))
_RIGHT_LOAD = _clears(
    "right_current_clears_circuit", _LOAD, "shared_fuse", when=_EXPECTED
)
_COIL_DRAWS = _clears("energised_coil_clears_relay", *_RELAY, when=_EXPECTED)
_REST = _clears("rest_clears_relay", *_RELAY, "module", when=_NONE)
_FED = _blames("supply_at_coil_blames_relay", *_RELAY, when=_SUPPLY)
_CODE_OF_LOAD = _blames("code_blames_load", "load", when=("open load", "overcurrent"))

_AT_RECORDED = (
    _clears("held_clears_what_rested", _LOAD, "shared_fuse", when=_EXPECTED),
    _NO_CURRENT,
)
_AT_CONTROL = (
    _NO_CURRENT,
    _clears("right_current_clears_circuit", _CONTROL, when=_EXPECTED),
    _COIL_DRAWS,
)
_AT_CONTROL_OFF = (
    _blames("always_on_blames_module", "module", when=("present",)),
    _REST,
)
_AT_FEED = (
    _FED,
    _blames("no_supply_blames_fuse", *_FUSE_OF_CONTROL, when=_NONE),
    _clears("energised_coil_clears_relay", *_RELAY, when=_SUPPLY),
)
_AT_RETURN = (
    _clears(
        "zero_volts_clears_ground_side",
        "control_return",
        "module",
        "module_ground",
        when=_EXPECTED,
    ),
    _blames(
        "supply_at_return_blames_module", "module", when=("high", "supply voltage")
    ),
    _COIL_DRAWS,
)


def _at_drop(*sections: str) -> tuple[Rule, ...]:
    no_drop = _clears("no_drop_clears_path", *sections, when=_NONE)
    return (no_drop, _NO_CURRENT, _NO_WORK)


def _at_fuse(fuse: tuple[str, ...], circuit: str, feed: str) -> tuple[Rule, ...]:
    whole = "whole_fuse_clears_circuit"
    return (
        _blames("open_fuse_is_cause", *fuse, when=("open",)),
        _clears(whole, circuit, *fuse, when=("intact",)),
        _clears(whole, feed, when=("intact",)),
    )


_AT_SOCKET_FEED = (
    _blames("no_supply_blames_fuse", *_FUSE_OF_LOAD, when=_NONE),
    _FED,
)

RULES: Mapping[str, tuple[Rule, ...]] = MappingProxyType(
    {
        "watch_load": (_NO_WORK,),
        "feel_relay": (
            _clears("energised_coil_clears_relay", *_RELAY, when=("clicks",)),
        ),
        "look_control_fuse": _at_fuse(("control_fuse",), _CONTROL, "control_feed"),
        "look_load_fuse": _at_fuse(_FUSE_OF_LOAD, _LOAD, "load_feed"),
        "read_enable": (
            _clears("enabled_means_commanded", "enable", "module", when=("yes",)),
            _blames("missing_enable_blames_module", "module", when=("no",)),
            _clears(
                "enabled_means_commanded", "enable", "module", *_RELAY, when=("yes",)
            ),
        ),
        "read_codes": (
            _CODE_OF_LOAD,
            _clears("no_code_clears_circuit", _LOAD, when=_NONE),
        ),
        "read_command": (_blames("always_on_blames_module", "switch", when=("no",)),),
        "unplug_switch": (
            _blames("always_on_blames_module", "switch", when=("stops",)),
        ),
        "read_sensed_current": (
            _NO_WORK,
            _clears("coarse_current_clears_circuit", _LOAD, when=("present",)),
        ),
        "control_current": _AT_CONTROL,
        "control_current_output_test": _AT_CONTROL,
        "control_current_off": _AT_CONTROL_OFF,
        "control_current_unplugged": _AT_CONTROL_OFF,
        "load_current": (_NO_CURRENT, _RIGHT_LOAD),
        "load_current_off": (
            _blames("always_on_blames_contacts", "contacts", when=("present",)),
            _blames("always_on_blames_module", "switch", when=("present",)),
            _REST,
        ),
        "pull_relay": (
            _blames("always_on_blames_contacts", "contacts", when=("stops",)),
        ),
        "load_current_bridged": (_RUNS_BRIDGED, _NO_WORK),
        "load_current_past_switch": (
            _NO_WORK,
            _blames("past_switch_blames_switch", "switch", when=_EXPECTED),
        ),
        "load_current_new_relay": (
            _clears("new_relay_clears_control", _CONTROL, when=("none", "low")),
            _RIGHT_LOAD,
        ),
        "recorded_fuses_to_relay": _AT_RECORDED,
        "recorded_module_to_relay": _AT_RECORDED,
        "recorded_relay_to_load": _AT_RECORDED,
        "recorded_ground": _AT_RECORDED,
        "recorded_relay_warmed": _AT_RECORDED,
        "load_current_neighbour_out": (_NO_CURRENT, _NO_WORK),
        "supply_at_battery": (
            _clears(
                "battery_voltage_clears_feeds",
                *("supply", "upstream", *_FUSE_OF_LOAD, "load_feed"),
                when=_SUPPLY,
            ),
            _FED,
        ),
        "socket_30": (
            _clears(
                "unloaded_voltage_clears_feed",
                *("upstream", *_FUSE_OF_LOAD, "load_feed", "socket"),
                when=_SUPPLY,
            ),
            *_AT_SOCKET_FEED,
        ),
        "socket_30_lamp": _AT_SOCKET_FEED,
        "socket_86_lamp": _AT_FEED,
        "socket_85_lamp": _AT_RETURN,
        "socket_87_lamp": (
            _clears(
                "lit_lamp_clears_load",
                *("load_wire", "load_connector", "load", "load_ground"),
                when=_EXPECTED,
            ),
            _blames("no_work_blames_load", "load", when=("high", "supply voltage")),
        ),
        "drop_supply_30": _at_drop("upstream", *_FUSE_OF_LOAD, "load_feed"),
        "drop_30_87": _at_drop("socket", "contacts"),
        "drop_switch": _at_drop("switch"),
        "drop_87_load": _at_drop("load_wire", "load_connector"),
        "drop_load_connector": _at_drop("load_connector"),
        "drop_load_ground": _at_drop("load_ground"),
        "voltage_86": _AT_FEED,
        "voltage_85": _AT_RETURN,
        "voltage_low_driver": _AT_RETURN,
        "voltage_high_driver": _AT_FEED,
        "voltage_module_ground": (
            _clears(
                "module_ground_clears_load_ground",
                "module_ground",
                "load_ground",
                when=_EXPECTED,
            ),
            *_AT_RETURN,
        ),
        "voltage_fuse_box": (
            _blames(
                "no_supply_blames_fuse", *_FUSE_OF_CONTROL, "load_fuse", when=_NONE
            ),
            _FED,
        ),
        "voltage_87a_off": (
            _clears(
                "voltage_at_87a_clears_contacts",
                *_FUSE_OF_LOAD,
                "load_feed",
                "contacts",
                when=_SUPPLY,
            ),
            _blames("no_supply_blames_fuse", *_FUSE_OF_LOAD, when=_NONE),
        ),
        "scope_turn_off": (_COIL_DRAWS,),
        "coil_resistance": (
            _clears("coil_ohms_clear_relay", *_RELAY, when=_EXPECTED),
            _clears("ohms_clear_wires", _CONTROL, when=_EXPECTED),
        ),
        "codes_unplugged": (_CODE_OF_LOAD,),
        "load_resistance": (
            _clears("load_ohms_clear_work", "load", "mechanism", when=_EXPECTED),
            _clears("ohms_clear_wires", _LOAD, when=_EXPECTED),
            _clears(
                "ohms_clear_wires",
                "load_wire",
                "load_connector",
                "load_ground",
                when=_EXPECTED,
            ),
        ),
        "move_by_hand": (
            _clears(
                "free_move_clears_load", "mechanism", "load", when=("normal effort",)
            ),
            _NO_WORK,
        ),
        "load_check": (_RUNS_BRIDGED, _NO_WORK),
        "load_check_driven": (_NO_WORK,),
    }
)
"""Rules by test, the one that is heard most often first."""

_ANYWHERE = (
    _blames("swap_blames_relay", *_RELAY),
    _blames("swap_blames_switch", "switch"),
    _blames("habit_blames_ground", "load_ground", "module_ground"),
    _blames("complaint_blames_load", "load"),
)


def rules_at(test: str, first: str) -> tuple[Rule, ...]:
    """Rules of a test, then those of every test.

    Parameters
    ----------
    test : str
        Id of the test.
    first : str
        Id of the first section in which a cause of the complaint can lie.
    """
    return (
        # Its own first: where two say the same, and where the list is full, they stay.
        *RULES.get(test, ()),
        *_ANYWHERE,
        _blames("order_blames_first", first),
    )
