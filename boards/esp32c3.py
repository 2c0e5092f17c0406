"""ESP32-C3 (small board with native USB): pin map of a reduced wiring, for what eight good pins can carry.

Contacts that are sensed close to GND (pin level 0 = good); the board's pull-up makes a broken wire read as not good.
Every heat output needs its own pull-down of 10 kohm at the relay's input: its pin floats from reset until boot.py.
Timers of this chip cannot cut in on a hung interpreter: the contactor is driven by one pulse a tick into a
retriggerable monostable of at most 600 ms. Without that monostable this map must not be used.

    GPIO4 -> driver -> solid-state relay, top element     (low = off)
    GPIO5 -> driver -> solid-state relay, deck element    (low = off)
    GPIO10 -> monostable -> driver -> contactor coil, in series with ENABLE, LIMIT_OK and SELECTOR contacts
    GPIO7/GPIO6 <- MAX31855 DO/CLK; GPIO3 = CS dome; 3V3 and GND
    GPIO1 LIMIT_OK, GPIO0 CONTACTOR_OPEN (mirror contact)
    GPIO21 -> lamp with its resistor to GND (active high): tells a trip without a PC, flickers at boot

Missing, for want of pins: the stone probe, current sensing in both zones, FAN_OK and DOOR, the sensed ENABLE and
SELECTOR (their contacts still open the contactor's coil, which CONTACTOR_OPEN shows), the MAINTENANCE jumper, and
COOLING_FAN: the fan is fed behind the transfer switch so that it always runs in OURS. Straps (2, 8, 9), USB (18, 19),
the serial input (20) and the flash (11..17) are left alone. Without the sensed ENABLE and SELECTOR the step of the
transfer switch cannot be measured: commissioning releases 60 degrees Celsius at most with this map, as `tizzone pins`
says. It is for the bench and for learning; take a larger board for an oven.
"""

NAME = "esp32c3"
MCU = "esp32c3"
WATCHDOG_MS = 4000
DEADMAN_TIMER = 0  # this family numbers its hardware timers

HEAT_TOP = 4
HEAT_DECK = 5
CONTACTOR = 10
CONTACTOR_DRIVE = "pulse"

LIMIT_OK = 1
CONTACTOR_OPEN = 0

PROBES = {
    "dome": {"chip": "max31855", "type": "K", "bus": {"spi": 1, "sck": 6, "miso": 7}, "cs": 3},
}
PANEL = None
LED = 21
