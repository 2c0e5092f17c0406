"""Runs on MicroPython: 1,000 ticks of the whole safety path with the heap locked, trips appearing on the way.

Frame -> linearised -> conditioned -> contacts and currents -> judgement -> heater, as app.py strings them together.
Between the rounds, with the heap unlocked, a person acknowledges. Prints the trips that were seen and the count.
"""

import micropython
from machine import Pin
from tizzone.board_io.contacts import Contacts
from tizzone.board_io.heater import Heater
from tizzone.probes.conditioning import Conditioner
from tizzone.probes.max31855 import MAX31855
from tizzone.probes.reading import Reading
from tizzone.safety import limits as L
from tizzone.safety.seen import Seen
from tizzone.safety.supervisor import PASSED, Supervisor


class Board:
    HEAT_TOP, HEAT_DECK, CONTACTOR, COOLING_FAN = 10, 11, 12, 13
    CONTACTOR_DRIVE = "pulse"
    ENABLE, LIMIT_OK, SELECTOR, CONTACTOR_OPEN = 2, 3, 4, 5
    MAINS_SENSE_TOP, MAINS_SENSE_DECK, FAN_OK, DOOR = 6, 7, 8, 9


class Wire:
    """SPI bus that answers with `hi` and `lo`; the probe's code wanders so that it is not frozen."""

    def __init__(self):
        self.hi = 0
        self.lo = 0
        self.flip = 0

    def readinto(self, buf, write=0):
        self.flip = (self.flip + 8) & 31  # the same for both probes of a tick
        hi, lo = self.hi, self.lo
        if hi and not lo & 15:
            lo ^= self.flip & 16
        buf[0] = hi >> 8
        buf[1] = hi & 255
        buf[2] = lo >> 8
        buf[3] = lo & 255


wire = Wire()
dome_probe = MAX31855(wire, Pin(17), Reading(), "K")
stone_probe = MAX31855(wire, Pin(20), Reading(), "K")
dome = Conditioner([[0, 500], [100000, -1000], [400000, 5000]])
stone = Conditioner()
seen = Seen(dome, stone)
contacts = Contacts(Board)
heater = Heater(Board)
supervisor = Supervisor(500000, 480000, learned_rise_ms=600000)
for pin in (contacts.enable, contacts.limit_ok, contacts.selector, contacts.fan_ok, contacts.door):
    pin.value(0)
GOOD = 0x1900  # amplifier at 25 °C
COLD, WARM, HOT, LIMIT = 0x0190, 0x0960, 0x1BD8, 0x2000  # 25, 150, 445, 512 °C


def tick(dt_ms):
    """One pass of the safety path; returns whether heat was permitted."""
    dome.update(dome_probe.read(), dt_ms)
    stone.update(stone_probe.read(), dt_ms)
    seen.dome_serial = dome_probe.reading.serial
    seen.box_mc = 30000
    seen.top_on = heater.top.on
    seen.deck_on = heater.deck.on
    seen.contactor_on = heater.contactor_on
    seen.fan_on = heater.fan_on
    seen.readback_ok = heater.follows()
    seen.deadman_fired = heater.take_deadman()
    contacts.sense(seen)
    permit = supervisor.judge(seen, dt_ms)
    heater.drive(1000, 333, permit, dt_ms)
    heater.run_fan(1)
    seen.out_pm = 1000 if permit.granted else 0
    return permit.granted


def scene(number):
    """What goes wrong in this round."""
    wire.hi = LIMIT if number == 1 else WARM if number == 2 else HOT
    wire.lo = GOOD | (1 if number == 3 else 2 if number == 4 else 4 if number == 5 else 0)
    if number == 6:
        wire.hi = wire.lo = 0
    contacts.limit_ok.value(1 if number == 7 else 0)
    contacts.fan_ok.value(1 if number == 8 else 0)
    contacts.enable.value(1 if number == 9 else 0)
    contacts.deck.value(1)


def play(number, ticks):
    """A round with the heap locked; returns the ticks in which heat was permitted."""
    granted = 0
    micropython.heap_lock()
    try:
        scene(0)
        for n in range(ticks):
            if n == 20:
                scene(number)
            if number == 11 and n == 30:
                for _ in range(10):
                    heater._timer_ticked(None)
            # the currents and the mirror contact follow what is driven
            closed = heater.contactor_on
            contacts.mirror.value(closed)
            contacts.top.value(0 if closed and heater.top.on else 1)
            welded = number == 10 and n >= 20
            contacts.deck.value(0 if closed and (heater.deck.on or welded) else 1)
            granted += tick(900 if number == 12 and n == 30 else 250)
    finally:
        micropython.heap_unlock()
    return granted


supervisor.armed = 1
supervisor.self_test = PASSED
seen.active = seen.session = 1
seen.setpoint_mc = 450000
seen.setpoint_inverted = ~450000
done = granted = 0
trips = []
for number in range(20):
    granted += play(number % 13, 50)
    done += 50
    trips.append(L.CONDITION_NAMES[supervisor.first_out])
    supervisor.restart_mc = 1000000
    scene(0)
    for _ in range(60):
        seen.session = 0
        seen.active = 0
        contacts.mirror.value(0)
        contacts.top.value(1)
        contacts.deck.value(1)
        tick(250)
        contacts.mirror.value(heater.contactor_on)
    seen.active = seen.session = 1
    supervisor.lift_lockout()
    supervisor.warmth.cold = 1  # both probes hang on one wire here: after their trips nobody else says cool
    supervisor.acknowledge(seen)
print(" ".join(sorted(set(trips))))
print(granted, done)
