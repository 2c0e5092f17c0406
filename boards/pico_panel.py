"""Raspberry Pi Pico (RP2040): the full wiring of `pico.py`, with panel, buzzer and lamp.

Contacts that are sensed close to GND (pin level 0 = good); the board's pull-up makes a broken wire read as not good.
Each is a contact of its own at 3.3 V: the coil chain (24 V d.c. from a separated supply) runs through other contacts of
the same devices, never through these.
Every heat output needs its own pull-down of 10 kohm at the relay's input: after a reset the pin only has a weak one.

    GP10 -> driver -> solid-state relay, top element      (low = off)
    GP11 -> driver -> solid-state relay, deck element     (low = off)
    GP12 -> driver -> contactor coil, in series with ENABLE, LIMIT_OK and SELECTOR contacts
    GP13 -> driver -> fan relay, whose NORMALLY CLOSED contact runs the cooling fan (low = fan runs)
    GP16/GP18 <- MAX31855 DO/CLK, both probes; GP17 = CS dome, GP20 = CS stone; 3V3 and GND
    GP2 ENABLE, GP3 LIMIT_OK, GP4 SELECTOR (closed in OURS), GP5 CONTACTOR_OPEN (mirror contact)
    GP6/GP7 MAINS_SENSE top/deck (opto output low while current flows), GP8 FAN_OK, GP9 DOOR (closed = shut)
    GP22 MAINTENANCE jumper to GND (fitted only to load the board when the link is dead)
    GP0/GP1 <-> SDA/SCL of the display, 3V3 and GND, 4.7 kohm pull-ups to 3V3 unless its module has them
    GP14/GP15 <- contacts A and B of the knob, GP21 <- its push; common pins to GND, 10 nF from each to GND
    GP26 <- stop button, NORMALLY CLOSED to GND: pressed or a broken wire reads 1 and stops
    GP27 -> driver of the buzzer, GP28 -> lamp with its resistor (both active high)
"""

NAME = "pico_panel"
MCU = "rp2040"
WATCHDOG_MS = 4000

HEAT_TOP = 10
HEAT_DECK = 11
CONTACTOR = 12
CONTACTOR_DRIVE = "level"
COOLING_FAN = 13

ENABLE = 2
LIMIT_OK = 3
SELECTOR = 4
CONTACTOR_OPEN = 5
MAINS_SENSE_TOP = 6
MAINS_SENSE_DECK = 7
FAN_OK = 8
DOOR = 9
MAINTENANCE = 22

PROBES = {
    "dome": {"chip": "max31855", "type": "K", "bus": {"spi": 0, "sck": 18, "miso": 16}, "cs": 17},
    "stone": {"chip": "max31855", "type": "K", "bus": {"spi": 0, "sck": 18, "miso": 16}, "cs": 20},
}
PANEL = {
    "chip": "sh1106", "bus": {"i2c": 0, "sda": 0, "scl": 1}, "address": 0x3C,
    "knob_a": 14, "knob_b": 15, "knob_push": 21, "stop": 26,
}  # fmt: skip
BUZZER = 27
LED = 28
