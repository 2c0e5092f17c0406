"""What runs on the player, a second board that plays the oven at 3.3 V; MicroPython on a Raspberry Pi Pico."""

VERSION = 1
