import board
from machine import Pin

for number in (board.HEAT_TOP, board.HEAT_DECK, board.CONTACTOR, board.COOLING_FAN):
    Pin(number, Pin.OUT, value=0)
