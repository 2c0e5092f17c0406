"""Everything that the simulated board is wired to: supply, switches, relays, contactor, chips, PC, oven.

`Outside(pins, plant, seed)` answers a Port (host/shim/port.py). Its clock moves in `advance` alone, piece by
piece between the moments at which something switches, and it can be deep-copied with all it holds.
Sensed contacts: closed to GND = good, so `level()` gives 0 for good and None for open.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from heapq import heappop, heappush
from typing import TYPE_CHECKING, Any

from host.oven.base import Plant
from host.pins.pin_map import PinMap
from host.shim.mainsphase import flows
from host.simulator.buses import Buses
from host.simulator.contacts import Contacts
from host.simulator.power import Contactor, Limiter, Relay, settle

if TYPE_CHECKING:
    from host.chips.oled import FakeOled
    from host.simulator.assembly import Tip

PLANT_US = 250_000  # longest step of the plant
PLANT_MIN_US = 200_000  # pieces shorter than this are gathered first (a tick is 250 ms)


class Outside:
    """`pins`: a PinMap; `plant`: see DEVELOPERS.md; `limiter_c`: set point of the independent limiter."""

    def __init__(self, pins: PinMap, plant: Plant, seed: int = 1, limiter_c: float = 520.0) -> None:
        self.pins = pins
        self.plant = plant
        self.random = random.Random(seed)
        self.now_us = 0
        self.orders: list[list[Any]] = []  # disturbances of the board itself, see Port.obey
        self.happened: list[tuple[int, str, str]] = []  # (us, kind, text): door, load, mains, faults
        self._schedule: list[tuple[int, int, object, str, tuple]] = []
        self._count = 0
        # what people do and have done
        self.position = "ours"  # of the transfer switch: ours, off, original
        self.enable = True
        self.has_mains = True
        self.door_until_us = 0
        self.fan_works = True
        self.contacts = Contacts(pins)
        # the power side
        self.relays = [Relay(zone, pins.pin(f"HEAT_{zone.upper()}"), pins.pin(f"MAINS_SENSE_{zone.upper()}"))
                       for zone in ("top", "deck")]  # fmt: skip
        self.contactor = Contactor(pins.pin("CONTACTOR"), getattr(pins, "CONTACTOR_DRIVE", "level"))
        self.limiter = Limiter(limiter_c) if pins.pin("LIMIT_OK") is not None else None
        self.fan_pin = pins.pin("COOLING_FAN")
        self.fan_off_commanded = 0
        self.buses = Buses()
        self.display: FakeOled | None = None  # of the panel
        self.probe_chips: dict[str, Any] = {}  # by the probe's name
        self.tips: dict[str, Tip] = {}  # where they are, likewise
        # the PC at the serial port
        self.host_reading = True
        self.rx = bytearray()
        self.sent = bytearray()
        self.dropped_bytes = 0
        self.listeners = []  # objects with `second(outside)`, called at each step of the plant
        self._plant_us = self._booked_us = 0  # clock at the plant's last step, and up to which the flow is booked
        self._drive = 0  # level of the contactor's pin
        self.quiet_us = 0  # until here nothing changes by itself
        driven = [*(relay.pin for relay in self.relays), self.contactor.pin, self.fan_pin]
        self.watched = sum(1 << pin for pin in set(driven) if pin is not None)
        settle(self, self._drive)
        self.contacts.settle(self)

    # --- what the board asks -------------------------------------------------------------------

    def advance(self, dt_us: int, levels: Mapping[Any, int], rose: int = 0) -> bool:
        """Let `dt_us` pass with these levels of the driven outputs and these pins' rising edges.

        True if more than time can have changed; False for a short piece in which nothing can. Not wired: pin None."""
        end_us = self.now_us + dt_us
        contactor = self.contactor
        top, deck = self.relays
        edge = contactor.pin is not None and rose >> contactor.pin & 1
        level = levels.get
        if (
            end_us < self.quiet_us
            and not edge
            and level(top.pin, 0) == top.commanded
            and level(deck.pin, 0) == deck.commanded
            and level(contactor.pin, 0) == self._drive
            and level(self.fan_pin, 0) == self.fan_off_commanded
        ):
            self.now_us = end_us
            return False
        self.account()
        self._take_outputs(levels, edge)
        settle(self, self._drive)
        while self.now_us < end_us:
            self._advance_piece(end_us)
        self.quiet_us = min(self._event_us(), self._plant_us + PLANT_MIN_US)
        self.contacts.settle(self)
        return True

    def rest(self, dt_us: int) -> bool:
        """Let `dt_us` pass if nothing can happen in it while the levels stay as they are; else False, and none has."""
        end_us = self.now_us + dt_us
        if end_us >= self.quiet_us:
            return False
        self.now_us = end_us
        return True

    def account(self) -> None:
        """Book the time since the last change to what has flowed in it."""
        duration_us = self.now_us - self._booked_us
        if duration_us:
            self._booked_us = self.now_us
            for relay in self.relays:
                relay.flow(duration_us)

    def level(self, pin: int) -> int | None:
        """0 if something closes this input to GND, None if nothing does."""
        if self.contacts.closed >> pin & 1:
            return 0
        relay = self.contacts.sensing.get(pin)
        return 0 if relay is not None and relay.wave and flows(relay.wave, self.now_us) else None

    def sense_waves(self) -> int:
        """What each current sensor could see: 0, 1 or 2 half waves, two bits a zone."""
        top, deck = self.relays
        sensing = self.contacts.sensing
        return (top.wave if top.sense_pin in sensing else 0) | (deck.wave if deck.sense_pin in sensing else 0) << 2

    def selects(self, bus: str) -> Sequence[int]:
        """The chip-select pins that are wired to a bus."""
        return self.buses.selects(bus)

    def transfer(self, bus: str, select: int, out: bytes | None, count: int) -> bytes:
        """One selection of an SPI chip: `out` (bytes or None) in, `count` bytes back."""
        return self.buses.transfer(bus, select, out, count)

    def i2c(self, bus: str, address: int, out: bytes | None, count: int) -> bytes | None:
        """Write then read an I2C chip; None when nothing acknowledges."""
        return self.buses.i2c(bus, address, out, count)

    def analog(self, pin: int) -> int:
        """0..65535 of an analog input; 0 where nothing is wired."""
        return self.buses.analog(pin)

    def serial_out(self, data: bytes) -> None:
        """The board sends; lost while nobody reads."""
        if self.host_reading:
            self.sent += data
        else:
            self.dropped_bytes += len(data)

    def clock_us(self) -> int:
        """Now, for chips (a bound method survives a copy of the board)."""
        return self.now_us

    # --- what people, the supply and time do -----------------------------------------------------

    def door(self, seconds: float) -> None:
        """Someone opens the door for a while."""
        self.door_until_us = max(self.door_until_us, self.now_us + round(seconds * 1e6))
        self.plant.event("door", seconds=seconds)
        self.tell("door", f"{seconds:g} s")

    def load(self, bake_s: float, water_g: float = 25.0) -> None:
        """Someone lays a flatbread on the stone."""
        self.plant.event("load", bake_s=bake_s, water_g=water_g)
        self.tell("load", f"{bake_s:g} s")

    def mains(self, ratio: float) -> None:
        """The mains voltage relative to nominal; 0 = a cut that the board's own supply survives."""
        self.has_mains = ratio > 0
        self.plant.event("mains", ratio=ratio)
        self.tell("mains", f"{ratio:.2f}")

    def cut_power(self, seconds: float) -> None:
        """The mains fails for everything, the board too."""
        self.has_mains = False
        self.orders.append(["power", round(seconds * 1e6)])
        self.tell("power", f"off for {seconds:g} s")
        self.at(self.now_us + round(seconds * 1e6), self, "restore_power")

    def restore_power(self) -> None:
        """The mains is back; chips begin as at power-up."""
        self.has_mains = True
        for chip in self.buses.chips.values():
            if hasattr(chip, "restart"):
                chip.restart()
        self.tell("power", "on")

    def at(self, us: int, thing: object, method: str, *arguments: Any) -> None:
        """Call a method at a time of the rehearsal."""
        self._count += 1
        heappush(self._schedule, (us, self._count, thing, method, arguments))

    def tell(self, kind: str, text: str) -> None:
        """Note an event."""
        self.happened.append((self.now_us, kind, text))

    @property
    def door_open(self) -> bool:
        """Whether the door stands open."""
        return self.now_us < self.door_until_us

    @property
    def fan_turns(self) -> bool:
        """The fan's contact is normally closed: it turns unless the board drives it off."""
        is_fed = self.has_mains and self.position == "ours"
        return is_fed and self.fan_works and not self.fan_off_commanded

    def true_c(self, place: str) -> float:
        """The air itself where the plant tells it, else what the probe's tip has, °C."""
        true_c = getattr(self.plant, "true_c", None)
        return true_c(place) if true_c else self.plant.temperature_c(place)

    # --- inside --------------------------------------------------------------------------------

    def _take_outputs(self, levels, edge):
        """The new levels of the driven outputs; `edge`: the contactor's pin has risen."""
        for relay in self.relays:
            level = levels.get(relay.pin, 0)
            if level != relay.commanded:
                relay.command(level, self.now_us)
        if edge:
            self.contactor.edge(self.now_us)
        self._drive = levels.get(self.contactor.pin, 0)
        self.fan_off_commanded = levels.get(self.fan_pin, 0)

    def _advance_piece(self, end_us):
        """On to the next moment at which something switches or the plant steps, at most to `end_us`."""
        event_us = self._event_us()
        plant_us = self._plant_us
        stop_us = min(end_us, event_us, plant_us + PLANT_US)
        self.now_us = stop_us
        self.account()
        if stop_us - plant_us >= PLANT_US or (stop_us == end_us and stop_us - plant_us >= PLANT_MIN_US):
            self._step_plant()
        if stop_us >= event_us:
            while self._schedule and self._schedule[0][0] <= stop_us:
                self._act(*heappop(self._schedule)[2:])
            settle(self, self._drive)

    def _event_us(self):
        """When something is due to switch by itself; not before now."""
        top, deck = self.relays
        contactor, now_us = self.contactor, self.now_us
        event_us = contactor.change_us
        if top.change_us < event_us:
            event_us = top.change_us
        if deck.change_us < event_us:
            event_us = deck.change_us
        if now_us < contactor.pulse_until_us < event_us:
            event_us = contactor.pulse_until_us
        if self._schedule and self._schedule[0][0] < event_us:
            event_us = self._schedule[0][0]
        return event_us if event_us > now_us else now_us

    def _step_plant(self):
        dt_us = self.now_us - self._plant_us
        self._plant_us = self.now_us
        heat = {}
        for relay in self.relays:
            heat[relay.zone] = relay.on_us / dt_us
            relay.on_us = 0
        if hasattr(self.plant, "fan_running"):
            self.plant.fan_running = self.fan_turns
        self.plant.step(dt_us / 1e6, heat)
        if self.limiter and self.limiter.feel(self.true_c("dome")):
            self.tell("limiter", "the independent limiter has opened")
            settle(self, self._drive)
        self.buses.refresh()
        for listener in self.listeners:
            listener.second(self)

    def _act(self, thing, method, arguments):
        getattr(thing, method)(*arguments)
        self.buses.refresh()
