"""What people, contacts and the supply do around the simulated board: the part of Outside that faults turn.

Sensed contacts: closed to GND = good. A contact's wire can be cut (reads open) or short to GND (reads closed).
"""

from heapq import heappush

SENSES = ("MAINS_SENSE_TOP", "MAINS_SENSE_DECK")
CONTACTS = ("ENABLE", "LIMIT_OK", "SELECTOR", "CONTACTOR_OPEN", "FAN_OK", "DOOR", "MAINTENANCE")


class People:
    """Base of Outside; needs its `relays`, `contactor`, `limiter`, `chips` and `fan_off_commanded`."""

    def __init__(self, pins, plant):
        self.pins = pins
        self.plant = plant
        self.now_us = 0
        self.position = "ours"  # of the transfer switch: ours, off, original
        self.enable = True
        self.has_mains = True
        self.maintenance_fitted = False
        self.door_until_us = 0
        self.door_stuck = None  # what the door contact shows regardless: "open", "shut"
        self.fan_works = True
        self.fan_contact_works = True
        self.cut_wires = set()  # names of sensed inputs whose wire is broken
        self.shorted_wires = set()  # and those that are short to GND
        self.buttons = {}  # pin -> pressed (contact to GND)
        self.analogs = {}  # pin -> callable giving 0..65535
        self.orders = []  # disturbances of the board itself, see Port.obey
        self.happened = []  # (us, kind, text): door, load, mains, faults
        self._schedule = []
        self._count = 0
        self._inputs = {getattr(pins, name): name for name in (*CONTACTS, *SENSES) if pins.pin(name) is not None}
        self.sensing = {}  # pin -> relay whose current it sees
        self.closed = 0  # a bit for every contact that is closed to GND
        self._contacts_key = None

    def door(self, seconds):
        """Someone opens the door for a while."""
        self.door_until_us = max(self.door_until_us, self.now_us + round(seconds * 1e6))
        self.plant.event("door", seconds=seconds)
        self.tell("door", f"{seconds:g} s")

    def load(self, bake_s, water_g=25.0):
        """Someone lays a flatbread on the stone."""
        self.plant.event("load", bake_s=bake_s, water_g=water_g)
        self.tell("load", f"{bake_s:g} s")

    def mains(self, ratio):
        """The mains voltage relative to nominal; 0 = a cut that the board's own supply survives."""
        self.has_mains = ratio > 0
        self.plant.event("mains", ratio=ratio)
        self.tell("mains", f"{ratio:.2f}")

    def cut_power(self, seconds):
        """The mains fails for everything, the board too."""
        self.has_mains = False
        self.orders.append(["power", round(seconds * 1e6)])
        self.tell("power", f"off for {seconds:g} s")
        self.at(self.now_us + round(seconds * 1e6), self, "restore_power")

    def restore_power(self):
        """The mains is back; chips begin as at power-up."""
        self.has_mains = True
        for chip in self.chips.values():
            if hasattr(chip, "restart"):
                chip.restart()
        self.tell("power", "on")

    def at(self, us, thing, method, *arguments):
        """Call a method at a time of the rehearsal."""
        self._count += 1
        heappush(self._schedule, (us, self._count, thing, method, arguments))

    def tell(self, kind, text):
        """Note an event."""
        self.happened.append((self.now_us, kind, text))

    @property
    def door_open(self):
        """Whether the door stands open."""
        return self.now_us < self.door_until_us

    @property
    def fan_turns(self):
        """The fan's contact is normally closed: it turns unless the board drives it off."""
        is_fed = self.has_mains and self.position == "ours"
        return is_fed and self.fan_works and not self.fan_off_commanded

    def true_c(self, place):
        """The air itself where the plant tells it, else what the probe's tip has, °C."""
        true_c = getattr(self.plant, "true_c", None)
        return true_c(place) if true_c else self.plant.temperature_c(place)

    def _look_at_contacts(self):
        """Work out which contacts are closed and which current sensors are connected, if anything has changed."""
        key = (
            *(self.enable, self.position, self.contactor.is_closed, self.now_us < self.door_until_us),
            *(self.fan_turns and self.fan_contact_works, self.door_stuck, self.maintenance_fitted),
            self.limiter is not None and self.limiter.has_tripped,
            *(frozenset(self.cut_wires), frozenset(self.shorted_wires), tuple(self.buttons.items())),
        )
        if key == self._contacts_key:
            return
        self._contacts_key = key
        mask = 0
        for pin, name in self._inputs.items():
            is_closed = name not in self.cut_wires and name not in SENSES and self._is_closed(name)
            if is_closed or name in self.shorted_wires:
                mask |= 1 << pin
        for pin, pressed in self.buttons.items():
            if pressed:
                mask |= 1 << pin
        self.closed = mask
        self.sensing = {
            pin: self.relays[name == SENSES[1]]
            for pin, name in self._inputs.items()
            if name in SENSES and name not in self.cut_wires and name not in self.shorted_wires
        }

    def _is_closed(self, name):
        if name == "ENABLE":
            return self.enable
        if name == "LIMIT_OK":
            return self.limiter is None or not self.limiter.has_tripped
        if name == "SELECTOR":
            return self.position == "ours"
        if name == "CONTACTOR_OPEN":
            return not self.contactor.is_closed
        if name == "FAN_OK":
            return self.fan_turns and self.fan_contact_works
        if name == "DOOR":
            return self.door_stuck == "shut" or (self.door_stuck is None and not self.door_open)
        return self.maintenance_fitted
