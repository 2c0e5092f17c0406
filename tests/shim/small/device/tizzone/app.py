"""A small application that touches every part of the simulated board; lines steer it."""

import time
from array import array

import board
import machine
from machine import SPI, WDT, Pin, Timer

REPORT = (
    "pv_mc", "stone_mc", "setpoint_mc", "out_pm", "heat_top", "heat_deck", "permit", "state", "stage", "trip",
    "contactor", "sense_top", "sense_deck", "fired", "cause", "ticks", "starts",
)  # fmt: skip


class App:
    def __init__(self, console=None):
        self.console = console
        self.byte = bytearray(1)
        self.top = Pin(board.HEAT_TOP, Pin.OUT, value=0)
        self.deck = Pin(board.HEAT_DECK, Pin.OUT, value=0)
        self.contactor = Pin(board.CONTACTOR, Pin.OUT, value=0)
        self.senses = [Pin(n, Pin.IN, Pin.PULL_UP) for n in (board.MAINS_SENSE_TOP, board.MAINS_SENSE_DECK)]
        self.enable = Pin(board.ENABLE, Pin.IN, Pin.PULL_UP)
        self.cs = Pin(board.PROBES["dome"]["cs"], Pin.OUT, value=1)
        self.spi = SPI(0, sck=Pin(18), miso=Pin(16))
        self.report = array("i", [0] * len(REPORT))
        self.fired = 0
        self.frame = bytearray(4)
        self.line = ""
        self.wants_heat = False
        self.callback = self.tick
        self.watchdog = None

    def start(self):
        try:
            with open("starts.txt") as file:
                self.starts = int(file.read()) + 1
        except OSError:
            self.starts = 1
        with open("starts.txt", "w") as file:
            file.write(str(self.starts))
        time.sleep_ms(1000)
        self.timer = Timer(-1, mode=Timer.PERIODIC, period=70, callback=self.callback, hard=True)
        self.watchdog = WDT(timeout=board.WATCHDOG_MS)
        self.deadline_ms = time.ticks_ms()

    def tick(self, timer):
        self.fired += 1

    def step(self):
        self.deadline_ms = time.ticks_add(self.deadline_ms, 250)
        time.sleep_ms(time.ticks_diff(self.deadline_ms, time.ticks_ms()))
        seen = [0, 0]
        for look in range(8):
            for index in range(2):
                seen[index] += 1 - self.senses[index].value()
            if look < 7:
                time.sleep_us(2500)
        self.cs(0)
        self.spi.readinto(self.frame)
        self.cs(1)
        heat = self.wants_heat and self.enable.value() == 0
        self.contactor.value(heat)
        self.top.value(heat)
        self.deck.value(heat and self.report[15] % 8 < 3)
        while self.console.stdin.ready(1):
            self.console.stdin.buffer.readinto(self.byte)
            byte = self.byte[0]
            if byte == 10:
                line, self.line = self.line, ""
                self.obey(line.rpartition("|")[0])
            else:
                self.line += chr(byte)
        self.watchdog.feed()
        values = (
            (self.frame[0] << 8 | self.frame[1]) >> 2, 0, 450000, 1000 if heat else 0, self.top.value(),
            self.deck.value(), int(heat), int(heat), int(heat), 0, self.contactor.value(), seen[0], seen[1], self.fired,
            machine.reset_cause(), self.report[15] + 1, self.starts,
        )  # fmt: skip
        for index in range(len(values)):
            self.report[index] = values[index]

    def obey(self, text):
        if self.console.stdout.ready(4):
            self.console.stdout.write("~did " + text + "|0000\n")
        if text in ("on", "off"):
            self.wants_heat = text == "on"
        elif text == "crash":
            raise ValueError("asked for")
        elif text == "starve":
            time.sleep_ms(60000)
        elif text == "reset":
            machine.reset()

    def make_safe(self):
        self.top.off()
        self.deck.off()
        self.contactor.off()


def run():
    app = App()
    try:
        app.start()
        while True:
            app.step()
    finally:
        app.make_safe()
