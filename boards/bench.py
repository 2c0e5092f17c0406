"""The bench, on a Raspberry Pi Pico: a lamp instead of the heater, the probe taped beside it. No mains, no oven.

A 12 V lamp of about 40 W with its own supply under a tin shade, the probe's tip taped to the shade. Setpoint at most
60 degrees Celsius: a board that nothing has been witnessed on holds no more (release 60), and this wiring has none of
the layers that more heat needs. The lamp and its shade burn fingers and paper all the same; do not leave them alone.

    GP10 -> driver -> 12 V lamp, with its own pull-down of 10 kohm at the driver's input (low = off)
    GP16/GP18 <- MAX31855 DO/CLK, GP17 = CS; 3V3 and GND; type K, insulated junction, taped to the shade
    GP2 ENABLE: a switch to GND, closed = enabled
    GP22 MAINTENANCE jumper to GND (fitted only to load the board when the link is dead)
    GP28 -> lamp with its resistor to GND (active high): trips are told without a PC

Rehearse it first: tizzone rehearse --oven lamp --board boards/bench.py --breads 0 --soak 1
"""

NAME = "bench"
MCU = "rp2040"
WATCHDOG_MS = 4000

HEAT_TOP = 10

ENABLE = 2
MAINTENANCE = 22

PROBES = {
    "dome": {"chip": "max31855", "type": "K", "bus": {"spi": 0, "sck": 18, "miso": 16}, "cs": 17},
}
PANEL = None
LED = 28
