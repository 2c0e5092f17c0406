"""The sensed contacts of the simulated board: which are closed to GND, and which current sensors are connected.

Closed = good (enabled, limiter healthy, OURS selected ...). A contact's wire can be cut (reads open) or short to GND
(reads closed).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from host.pins.pin_map import PinMap
    from host.simulator.outside import Outside


SENSES = ("MAINS_SENSE_TOP", "MAINS_SENSE_DECK")
CONTACTS = ("ENABLE", "LIMIT_OK", "SELECTOR", "CONTACTOR_OPEN", "FAN_OK", "DOOR", "MAINTENANCE")


class Contacts:
    """Every sensed input of `pins` (a PinMap) with its wire."""

    def __init__(self, pins: PinMap) -> None:
        self.maintenance_fitted = False
        self.door_stuck: str | None = None  # what the door contact shows regardless: "open", "shut"
        self.fan_contact_works = True
        self.cut_wires: set[str] = set()  # names of sensed inputs whose wire is broken
        self.shorted_wires: set[str] = set()  # and those that are short to GND
        self.buttons = {}  # pin -> pressed (contact to GND)
        self.sensing = {}  # pin -> relay whose current it sees
        self.closed = 0  # a bit for every contact that is closed to GND
        self._inputs = {getattr(pins, name): name for name in (*CONTACTS, *SENSES) if pins.pin(name) is not None}
        self._key: tuple[object, ...] | None = None

    def settle(self, outside: Outside) -> None:
        """Work out `closed` and `sensing` from what the Outside does, if anything has changed."""
        limiter = outside.limiter
        key = (
            outside.enable,
            outside.position,
            outside.contactor.is_closed,
            outside.now_us < outside.door_until_us,
            self.fan_contact_works and outside.fan_turns,
            self.door_stuck,
            self.maintenance_fitted,
            limiter is not None and limiter.has_tripped,
            frozenset(self.cut_wires) if self.cut_wires else None,
            frozenset(self.shorted_wires) if self.shorted_wires else None,
            tuple(self.buttons.items()) if self.buttons else None,
        )
        if key == self._key:
            return
        self._key = key
        mask = 0
        for pin, name in self._inputs.items():
            is_closed = name not in self.cut_wires and name not in SENSES and self._is_closed(name, outside)
            if is_closed or name in self.shorted_wires:
                mask |= 1 << pin
        for pin, pressed in self.buttons.items():
            if pressed:
                mask |= 1 << pin
        self.closed = mask
        self.sensing = {
            pin: outside.relays[name == SENSES[1]]
            for pin, name in self._inputs.items()
            if name in SENSES and name not in self.cut_wires and name not in self.shorted_wires
        }

    def _is_closed(self, name, outside):
        if name == "ENABLE":
            return outside.enable
        if name == "LIMIT_OK":
            return outside.limiter is None or not outside.limiter.has_tripped
        if name == "SELECTOR":
            return outside.position == "ours"
        if name == "CONTACTOR_OPEN":
            return not outside.contactor.is_closed
        if name == "FAN_OK":
            return outside.fan_turns and self.fan_contact_works
        if name == "DOOR":
            return self.door_stuck == "shut" or (self.door_stuck is None and not outside.door_open)
        return self.maintenance_fitted
