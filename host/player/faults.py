"""Which faults a harness can make, with what is promised for each, in an order that needs the fewest new heatings.

Those of the library that lie outside the board (chips, relays, contactor, contacts, wires, mains) and show at the
temperature of the drill; and a few that only two real boards can have: a player that falls silent, a board that is
restarted, a program that is stopped.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from host.faults.base import Promise
from host.faults.library import FAULTS
from host.player.harness import RESET, Harness

if TYPE_CHECKING:
    from host.faults.base import Fault
    from host.player.bench import Bench

# Of the library, but within the board, or made by a line that drives a pin high: no harness makes them.
NOT_HERE = (
    "pin_stuck_",
    "contactor_driver_stuck",
    "power_",
    "mains_boots",
    "door_ajar",
    "correction_",
    "second_person",
)
HOLDS = ("enable-open", "selector-original", "door-open")  # they end the heat without a latch: heating goes on at once
SLOW_S = 20.0  # promises beyond this are for a night
# Long enough for the player to let its lines go, too short for the probes: with these gone as well the board could not
# know how hot its oven is, and would want ten hours without heat before its next evening.
SILENT_S = 1.6


@dataclass(frozen=True)
class Case:
    """One fault to drill. `make`, `mend`: of a Bench; `needs_return`: the board restarts in it."""

    name: str
    words: str
    promise: Promise
    make: Callable[[Bench], Any]
    mend: Callable[[Bench], Any]
    needs_return: bool = False

    @property
    def is_hold(self) -> bool:
        """Whether it ends the heat without a trip."""
        return self.promise.reasons <= set(HOLDS)


def _has(harness: Harness, fault: Fault) -> bool:
    have = {wire.name.partition(".")[0] for wire in harness.wires} | {"MAINS_SENSE_TOP"}
    sensed = {"sense_wire_cut": "MAINS_SENSE_TOP", "sense_wire_short": "MAINS_SENSE_DECK"}
    zone = "HEAT_" + fault.name.rpartition("_")[2].upper()
    if zone in ("HEAT_TOP", "HEAT_DECK") and not (
        harness.wire(zone) and harness.wire(zone.replace("HEAT", "MAINS_SENSE"))
    ):
        return False
    if fault.name in sensed and not harness.wire(sensed[fault.name]):
        return False
    if "contactor" in fault.name and not harness.wire("CONTACTOR_OPEN"):
        return False
    if fault.name.startswith("stone") and "stone" not in harness.setup()["probes"]:
        return False
    return all(need in have for need in fault.needs)


def library(harness: Harness, setpoint_c: float, slow: bool = False) -> list[Case]:
    """The library's faults that this harness can make and that show at this temperature."""
    sensed = all(harness.wire(name) for name in ("MAINS_SENSE_TOP", "MAINS_SENSE_DECK", "CONTACTOR_OPEN"))
    found = []
    for fault in FAULTS.values():
        if fault.inside or fault.group == "board" or fault.name.startswith(NOT_HERE) or not _has(harness, fault):
            continue
        promise = fault.promise("setpoint", sensed).at(setpoint_c)
        if isinstance(promise, Promise) and (slow or promise.within_s <= SLOW_S):
            found.append(Case(fault.name, fault.description, promise, _maker(fault), _mender(fault)))
    return found


def _maker(fault):
    def make(bench: Bench) -> None:
        fault.start(bench.outside)
        bench.outside.quiet_us = 0
        bench.outside.buses.refresh()

    return make


def _mender(fault):
    def mend(bench: Bench) -> None:
        outside = bench.outside
        if fault._mend is not None:
            fault.end(outside)
        if outside.limiter is not None:
            outside.limiter.has_tripped = False
        outside.door_until_us = 0
        setattr(outside, "chatter_left", 0)  # noqa: B010 - the library keeps it there, and nobody else knows it
        if outside.contactor.stuck == "open":
            outside.contactor.stuck = None
        outside.quiet_us = 0
        outside.buses.refresh()

    return mend


def of_two_boards(harness: Harness) -> list[Case]:
    """The faults that need two boards."""
    found = [
        Case("player_silent", "nothing at the lines any more: player or laptop gone",
             Promise("enable-open selector-original limiter-open probe-silent fan-stopped no-current door-open "
                     "stone-probe contactor-open", 2.0),
             lambda bench: bench.pause(SILENT_S), lambda bench: None),
        Case("program_stopped", "the program ends (Ctrl-C): pins off, then the watchdog restarts the board",
             Promise("watchdog-reset program-fault power-cut", 30.0, inhibit_s=0.5),
             lambda bench: bench.board.raw(b"\r\x03\x03"), lambda bench: None, needs_return=True),
    ]  # fmt: skip
    if harness.wire(RESET):
        found.append(Case("board_restarted", "the board is restarted at its reset pin",
                          Promise("power-cut watchdog-reset", 30.0, inhibit_s=0.5),
                          lambda bench: bench.player.must("restart 200"), lambda bench: None,
                          needs_return=True))  # fmt: skip
    if harness.wire("PANEL.stop"):
        found.append(Case("stop_pressed", "the stop button is pressed", Promise("none", 1.0),
                          lambda bench: _press(bench, False), lambda bench: _press(bench, True)))  # fmt: skip
    return found


def _press(bench, is_closed):
    spec = bench.harness.pins.PANEL
    bench.outside.contacts.buttons[spec["stop"]] = is_closed


def ordered(cases: list[Case]) -> list[Case]:
    """Holds first (the heat comes back by itself), then trips, then what restarts the board.

    The third trip in a row locks out, and that is lifted only on an oven that is known to be cold: with the dome's
    probe just disowned it is not, for hours. So of three trips the middle one at most is about that probe. Last of
    all the silent player, which takes every probe away where the laptop is late."""
    holds = [case for case in cases if case.is_hold and not case.needs_return]
    last = [case for case in cases if case.needs_return] + [case for case in cases if case.name == "player_silent"]
    trips = [case for case in cases if case not in holds and case not in last]
    dome = [case for case in trips if case.name.startswith("dome_")]
    other = [case for case in trips if case not in dome]
    mixed: list[Case] = []
    while other:
        mixed += [*other[:1], *dome[:1], *other[1:2]]
        other, dome = other[2:], dome[1:]
    return [*holds, *mixed, *dome, *last]
