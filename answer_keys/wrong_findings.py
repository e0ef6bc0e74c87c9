"""Rows of the catalogue of misconceptions: wrong conclusions from a reading."""

from __future__ import annotations

# id, title, how it is recognised, explanation, cure
WRONG_FINDINGS = (
    (
        "none_blames_relay",
        "Relay blamed because no current flows",
        "no current; everything but the relay cleared",
        "No current says only that the path is open somewhere, or that nothing closes "
        "it: a fuse, a wire or a module that does not command reads the same as a bad "
        "relay.",
        "At “none”, name every part that the current would have to pass, one by one.",
    ),
    (
        "right_current_clears_circuit",
        "Whole circuit cleared by one right current",
        "expected current; the whole circuit cleared, its fuse too",
        "The right current clears what it flowed through in this test, and no more: a "
        "fuse that the lead replaced, a relay that a jumper bridged and a command that "
        "an output test passed over are not proved by it.",
        "Draw the path that the current took in this very test, and clear only that.",
    ),
    (
        "energised_coil_clears_relay",
        "Relay cleared because its coil is fed",
        "coil fed or drawing its current; coil and contacts cleared",
        "A coil that has its supply, or even draws its current, says nothing of the "
        "contacts: they may still be burnt, welded or open.",
        "Take a relay for two parts, in two circuits, and test each on its own.",
    ),
    (
        "bridged_run_blames_relay",
        "Relay blamed because the load runs when bridged",
        "right with 30 and 87 bridged; everything but the relay cleared",
        "With 30 and 87 bridged the relay is left out, and so is all that commands it: "
        "the fault may lie in the whole control circuit as well.",
        "After a bridge that works, go on with the control current.",
    ),
    (
        "no_work_blames_load",
        "Load blamed because it does not work",
        "little or no current, or no work; everything but the load cleared",
        "A load works only as well as its fuse, its wires, its ground and what it "
        "drives let it.",
        "Measure what reaches the load, and what leaves it, before it is changed.",
    ),
    (
        "always_on_blames_module",
        "Module blamed because current flows unasked",
        "control current without command; everything but the driver cleared",
        "Current without a command may flow through the driver, or past it through a "
        "wire that has found another way.",
        "Unplug the module: current that still flows does not go through it.",
    ),
    (
        "always_on_blames_contacts",
        "Contacts taken for welded because the load runs on",
        "load current without command; everything but the contacts cleared",
        "The contacts may be welded, or rightly closed by a coil that is held on; or "
        "the current takes a way past them.",
        "Look at the control current with the command off before the relay is changed.",
    ),
    (
        "rest_clears_relay",
        "Relay cleared by a current that is none at rest",
        "no current without command; relay and driver cleared",
        "No current at rest is what most broken circuits show too: it says nothing of "
        "what happens on command.",
        "Ask of a test what a broken part would show: if the same, it tells nothing.",
    ),
    (
        "no_drop_clears_path",
        "Path cleared by a drop measured without current",
        "no voltage drop, no current; the section between the probes cleared",
        "Where no current flows nothing drops: a path that carries nothing cannot show "
        "what it loses, but only that it is not the one break.",
        "Make sure that current flows before a voltage drop is read.",
    ),
    (
        "no_supply_blames_fuse",
        "Fuse blamed because a point has no supply",
        "no supply at a point; everything but the fuses cleared",
        "No supply at a point says that the path before it is open: every section "
        "before it may be, not its fuse alone.",
        "Go back along the path with the meter until the supply is there.",
    ),
    (
        "zero_volts_clears_ground_side",
        "Ground side cleared because it reads 0 V",
        "near 0 V at the coil's return; wire, driver and ground cleared",
        "Near 0 V the path from here to ground is closed, or nothing feeds this point: "
        "the reading alone does not tell which.",
        "Prove first that the coil has its supply, then read its return.",
    ),
    (
        "supply_at_return_blames_module",
        "Module blamed because the coil's return is not pulled down",
        "supply voltage behind the coil; everything but the driver cleared",
        "Supply voltage here says that the path from here to ground is not closed: its "
        "wire and its ground are as suspect as the driver.",
        "Measure at the driver's pin and at its ground before the module is blamed.",
    ),
    (
        "supply_at_coil_blames_relay",
        "Relay blamed because its feed is there",
        "supply before the coil; everything but the relay cleared",
        "Supply at a point clears the path before it: all that lies behind it is still "
        "suspect, not the relay alone.",
        "Measure on the other side of the coil too.",
    ),
    (
        "coil_ohms_clear_relay",
        "Relay cleared by the ohms of its coil",
        "right ohms between 85 and 86; coil and contacts cleared",
        "The right ohms clear the coil. The contacts are another part of the relay.",
        "Read the drop from 30 to 87 while the load's current flows.",
    ),
    (
        "load_ohms_clear_work",
        "Mechanism cleared by the ohms of the load",
        "right ohms of the load; the load and what it moves cleared",
        "The right ohms clear the winding: what it has to move may still be stuck, "
        "heavy or loose.",
        "Move it by hand, with the fuse out.",
    ),
    (
        "ohms_clear_wires",
        "Wires cleared by ohms that left them out",
        "right ohms out of circuit; the wires around the part cleared too",
        "Ohms out of circuit clear the part between the probes: what feeds it and what "
        "grounds it was not in this reading.",
        "Read voltage drops over the wires while they carry current.",
    ),
    (
        "open_fuse_is_cause",
        "Open fuse taken for the cause",
        "fuse open; everything but the fuse cleared",
        "Something may have opened the fuse: a short or an overload behind it opens "
        "the next one too.",
        "Ask of every open fuse what opened it, before a new one goes in.",
    ),
    (
        "whole_fuse_clears_circuit",
        "Circuit cleared because its fuse is whole",
        "fuse whole; wires or all of its circuit cleared",
        "A whole fuse clears the fuse: it opens for too much current, not for too "
        "little, and says nothing of what lies behind it.",
        "Clear with a look only what was looked at.",
    ),
    (
        "enabled_means_commanded",
        "Driver cleared because the module is enabled",
        "every enable input there; the driver, or the relay too, cleared",
        "The module sees its inputs: that its driver conducts, and that the relay "
        "follows, is not in this reading.",
        "Read the control current, commanded normally.",
    ),
    (
        "missing_enable_blames_module",
        "Module blamed because an input is missing",
        "an enable input missing; everything but the driver cleared",
        "A module without its inputs is right not to command.",
        "Look for the input first: its switch, its sensor, its wire.",
    ),
    (
        "free_move_clears_load",
        "Load cleared because it moves by hand",
        "normal effort by hand; the mechanism and the load cleared",
        "A hand feels bearings and gaps, not windings.",
        "Measure the ohms of the load, or its current when bridged.",
    ),
    (
        "module_ground_clears_load_ground",
        "One ground cleared by another",
        "0 V at the module's ground; the ground of the load cleared",
        "Each ground has a path of its own: a good one says nothing of the other.",
        "Read the drop of each ground while its own current flows.",
    ),
    (
        "new_relay_clears_control",
        "Control circuit cleared by a new relay",
        "no change with a new relay; the whole control circuit cleared",
        "A new relay that changes nothing clears the old one, no more: the new one "
        "needs its control circuit too.",
        "Read the control current before a relay is swapped.",
    ),
    (
        "voltage_at_87a_clears_contacts",
        "Contacts cleared by the voltage at 87a",
        "supply at 87a at rest; all the contacts cleared",
        "87a has its supply while the relay rests: that says nothing of the contact to "
        "87, which carries the load.",
        "Read the drop from 30 to 87 on command.",
    ),
    (
        "swap_blames_relay",
        "Relay blamed because it is quickly swapped",
        "any reading; everything but the relay cleared",
        "A relay is quickly swapped, but nothing in this reading accuses it more than "
        "the rest.",
        "Let the readings choose the part, not the ease of changing it.",
    ),
    (
        "habit_blames_ground",
        "Ground blamed out of habit",
        "any reading; everything but the grounds cleared",
        "Bad grounds are common, but nothing in this reading accuses one more than the "
        "rest.",
        "Prove a ground bad by its voltage drop, with its current flowing.",
    ),
    (
        "complaint_blames_load",
        "Load blamed because the complaint names it",
        "any reading; everything but the load cleared",
        "The complaint tells where a fault is noticed, not where it is: nothing in "
        "this reading accuses the load more than the rest.",
        "Read what the load gets before you ask what it does.",
    ),
    (
        "order_blames_first",
        "The first section of the path blamed",
        "any reading; everything but the first section cleared",
        "A path is searched in some order, but nothing in this reading accuses its "
        "first section more than the rest.",
        "Measure near the middle of the path: that tells in which half to go on.",
    ),
)
