"""ESP32 (WROOM-32 module without PSRAM on a board with a USB serial bridge): pin map of the full wiring.

Contacts that are sensed close to GND (pin level 0 = good); the board's pull-up makes a broken wire read as not good.
Each is a contact of its own at 3.3 V: the coil chain (24 V d.c. from a separated supply) runs through other contacts of
the same devices, never through these.
Every heat output needs its own pull-down of 10 kohm at the relay's input: its pin floats from reset until boot.py.
Timers of this chip cannot cut in on a hung interpreter: the contactor is driven by one pulse a tick into a
retriggerable monostable of at most 600 ms. Without that monostable this map must not be used.
Pins 0, 1, 3, 5, 12, 14, 15, 26, 27 may move while the chip boots: nothing that heats is there. Look at 32, 33 and
25 with an oscilloscope through several power-ups before a relay is connected.

    GPIO32 -> driver -> solid-state relay, top element    (low = off)
    GPIO33 -> driver -> solid-state relay, deck element   (low = off)
    GPIO25 -> monostable -> driver -> contactor coil, in series with ENABLE, LIMIT_OK and SELECTOR contacts
    GPIO23 -> driver -> fan relay, whose NORMALLY CLOSED contact runs the cooling fan (low = fan runs)
    GPIO19/GPIO18 <- MAX31855 DO/CLK, both probes; GPIO22 = CS dome, GPIO21 = CS stone; 3V3 and GND
    GPIO13 ENABLE, GPIO27 LIMIT_OK, GPIO26 SELECTOR (closed in OURS), GPIO4 CONTACTOR_OPEN (mirror contact)
    GPIO16/GPIO17 MAINS_SENSE top/deck (opto output low while current flows)
    GPIO14 FAN_OK, GPIO15 MAINTENANCE jumper to GND (fitted only to load the board when the link is dead)
    GPIO2 -> lamp with its resistor to GND (active high): trips are told without a PC
    1 kohm in series with the contacts at 14, 15, 26 and 27: these pins may be driven while the chip boots.
    No pin is left for a DOOR contact: heat goes on while the door is open.
"""

NAME = "esp32"
MCU = "esp32"
PSRAM = "none"
WATCHDOG_MS = 4000
DEADMAN_TIMER = 0  # this family numbers its hardware timers

HEAT_TOP = 32
HEAT_DECK = 33
CONTACTOR = 25
CONTACTOR_DRIVE = "pulse"
COOLING_FAN = 23

ENABLE = 13
LIMIT_OK = 27
SELECTOR = 26
CONTACTOR_OPEN = 4
MAINS_SENSE_TOP = 16
MAINS_SENSE_DECK = 17
FAN_OK = 14
MAINTENANCE = 15

PROBES = {
    "dome": {"chip": "max31855", "type": "K", "bus": {"spi": 2, "sck": 18, "miso": 19}, "cs": 22},
    "stone": {"chip": "max31855", "type": "K", "bus": {"spi": 2, "sck": 18, "miso": 19}, "cs": 21},
}
PANEL = None
LED = 2
