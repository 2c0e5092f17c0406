"""ESP32-S3 (WROOM-1 module on a board with native USB): pin map of the full wiring.

Contacts that are sensed close to GND (pin level 0 = good); the board's pull-up makes a broken wire read as not good.
Each is a contact of its own at 3.3 V: the coil chain (24 V d.c. from a separated supply) runs through other contacts of
the same devices, never through these.
Every heat output needs its own pull-down of 10 kohm at the relay's input: its pin floats from reset until boot.py.
Timers of this chip cannot cut in on a hung interpreter: the contactor is driven by one pulse a tick into a
retriggerable monostable of at most 600 ms. Without that monostable this map must not be used.
Pins 33..37 are left alone, so modules with octal PSRAM serve too. Look at 4, 5 and 6 with an oscilloscope through
several power-ups before a relay is connected.

    GPIO4 -> driver -> solid-state relay, top element     (low = off)
    GPIO5 -> driver -> solid-state relay, deck element    (low = off)
    GPIO6 -> monostable -> driver -> contactor coil, in series with ENABLE, LIMIT_OK and SELECTOR contacts
    GPIO7 -> driver -> fan relay, whose NORMALLY CLOSED contact runs the cooling fan (low = fan runs)
    GPIO13/GPIO12 <- MAX31855 DO/CLK, both probes; GPIO10 = CS dome, GPIO14 = CS stone; 3V3 and GND
    GPIO15 ENABLE, GPIO16 LIMIT_OK, GPIO17 SELECTOR (closed in OURS), GPIO8 CONTACTOR_OPEN (mirror contact)
    GPIO1/GPIO2 MAINS_SENSE top/deck (opto output low while current flows), GPIO42 FAN_OK, GPIO41 DOOR (closed = shut)
    GPIO21 MAINTENANCE jumper to GND (fitted only to load the board when the link is dead)
    GPIO11 -> driver of the buzzer, GPIO9 -> lamp with its resistor to GND (both active high)
"""

NAME = "esp32s3"
MCU = "esp32s3"
WATCHDOG_MS = 4000
DEADMAN_TIMER = 0  # this family numbers its hardware timers

HEAT_TOP = 4
HEAT_DECK = 5
CONTACTOR = 6
CONTACTOR_DRIVE = "pulse"
COOLING_FAN = 7

ENABLE = 15
LIMIT_OK = 16
SELECTOR = 17
CONTACTOR_OPEN = 8
MAINS_SENSE_TOP = 1
MAINS_SENSE_DECK = 2
FAN_OK = 42
DOOR = 41
MAINTENANCE = 21

PROBES = {
    "dome": {"chip": "max31855", "type": "K", "bus": {"spi": 1, "sck": 12, "miso": 13}, "cs": 10},
    "stone": {"chip": "max31855", "type": "K", "bus": {"spi": 1, "sck": 12, "miso": 13}, "cs": 14},
}
PANEL = None
BUZZER = 11
LED = 9
