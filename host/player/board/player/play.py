"""The player's loop. Nothing is driven until the laptop says so, nor when it has been silent for a second.

who                          what this is
wires JSON                   its pins, from the pin map (harness.setup on the laptop); still nothing is driven
begin                        from here on a hardware watchdog watches this loop; contacts follow the turns
turn CLOSED MODES DOME STONE what stands at the lines until the next turn; the reply tells what the board has done
restart MS                   hold the board's reset line low for so long
end                          nothing driven, then a restart, which ends the watchdog
"""

import json
import time

import machine
from micropython import const

from player import VERSION
from player.chip import Chip
from player.edges import Edges
from player.mains import Line, Mains, Sensor
from player.talk import Talk

_SILENT_MS = const(1_000)  # without a turn: contacts and pulses go ...
_FADE_MS = const(1_000)  # ... and then the probes: a board that loses both at once cannot know how hot its oven is
_WATCHDOG_MS = const(2_000)
_PASS_MS = const(4)
_LOOK_PASSES = const(5)  # between two looks at the chips
_EDGES = const(16)  # a reply's most
_RESET_MS = const(2_000)
ZONES = ("MAINS_SENSE_TOP", "MAINS_SENSE_DECK")


class Player:
    """One player; `console` as Talk has it."""

    def __init__(self, console=None):
        self.talk = Talk(console)
        self.wires = None
        self.playing = False
        self.watchdog = None
        self.chips = {}
        self.contacts = []
        self.edges = self.mains = self.reset_line = None
        self.turned_ms = self.passed_ms = time.ticks_ms()
        self.resting_because = "start"
        self.longest_ms = 0  # pass of this loop
        self._reset_until_ms = None
        self._fading = False

    def step(self):
        """One pass."""
        now_ms = time.ticks_ms()
        dt_ms = time.ticks_diff(now_ms, self.passed_ms)
        self.passed_ms = now_ms
        if self.playing:
            self.longest_ms = max(self.longest_ms, dt_ms)
            self._play(dt_ms)
            if time.ticks_diff(now_ms, self.turned_ms) > _SILENT_MS:
                self.rest("silent")
        elif self._fading and time.ticks_diff(now_ms, self.turned_ms) > _SILENT_MS + _FADE_MS:
            self._end_chips()
        if self._reset_until_ms is not None and time.ticks_diff(now_ms, self._reset_until_ms) >= 0:
            self._reset_until_ms = None
            self.reset_line.pull(0)
        if self.watchdog is not None:
            self.watchdog.feed()
        try:
            text = self.talk.line()
        except ValueError:
            self.talk.reply("refused: checksum")
            return
        if text is not None:
            self.talk.reply(self._answer(text))

    def _play(self, dt_ms):
        edges = self.edges
        edges.sample()
        levels = edges.levels
        rose = edges.take_rose()
        self._rose |= rose
        self.mains.step(dt_ms, levels, rose)
        self._unlooked_ms += dt_ms
        self._passes += 1
        if self._passes >= _LOOK_PASSES:
            for chip in self.chips.values():
                chip.look(self._unlooked_ms)
            self._passes = self._unlooked_ms = 0

    def rest(self, why):
        """Nothing driven, until `begin`; of a laptop that has fallen silent the probes' last frames a second longer."""
        if self.playing:
            self.playing = False  # what only looks goes on: when the board's outputs fall is worth knowing
            self.mains.end()
            self._fading = why == "silent"
        if why != "silent":
            self._end_chips()
        for line in self.contacts:
            line.pull(0)
        if self.reset_line is not None:
            self.reset_line.pull(0)
        self._reset_until_ms = None
        self.resting_because = why

    def _end_chips(self):
        self._fading = False
        for chip in self.chips.values():
            chip.end()

    # --- what the laptop says ------------------------------------------------------------------------

    def _answer(self, text):
        word, _, rest = text.partition(" ")
        try:
            if word == "who":
                state = "playing" if self.playing else "new" if self.wires is None else "resting"
                return "player %d %s %s" % (VERSION, state, self.resting_because)
            if word == "wires":
                return self._wires(json.loads(rest))
            if word == "begin":
                return self._begin()
            if word == "turn":
                return self._turn(rest.split())
            if word == "restart":
                return self._restart(int(rest))
            if word == "end":
                return self._end()
        except (ValueError, KeyError, TypeError, IndexError, OSError) as error:
            return "refused: not understood (%s)" % type(error).__name__
        return "refused: no such line"

    def _wires(self, wires):
        """Take the pins over; refused while playing."""
        if self.playing:
            return "refused: playing"
        at = [number for job in ("reads", "closes") for number in wires[job].values()]
        at += [number for pins in wires["probes"].values() for number in pins]
        if not all(isinstance(number, int) and 0 <= number <= 28 for number in at) or "dome" not in wires["probes"]:
            return "refused: pins"
        if wires["hz"] not in (50, 60):
            return "refused: hz"
        closes, reads = wires["closes"], wires["reads"]
        self.contacts = [Line(closes[name]) for name in wires["order"]]
        self.reset_line = Line(wires["reset"])
        sensors = {zone: Sensor(6 + zone, closes[name], wires["hz"]) for zone, name in enumerate(ZONES)
                   if name in closes}  # fmt: skip
        mirror = Line(closes["CONTACTOR_OPEN"]) if "CONTACTOR_OPEN" in closes else None
        at = [1 << reads[name] if name in reads else 0 for name in ("HEAT_TOP", "HEAT_DECK", "CONTACTOR")]
        self.mains = Mains(sensors, mirror, wires["pulsed"], at)
        self._end_chips()
        self.chips = {name: Chip(number, wires["probes"][name]) for number, name in enumerate(("dome", "stone"))
                      if name in wires["probes"]}  # fmt: skip
        if self.edges is not None:
            self.edges.end()
        pulsed = reads["CONTACTOR"] if wires["pulsed"] else -1
        self.edges = Edges(list(reads.values()), wires["probes"]["dome"][0], pulsed)
        self._rose = self.longest_ms = self._passes = self._unlooked_ms = 0
        self.wires = wires
        return "done"

    def _begin(self):
        if self.wires is None:
            return "refused: wires first"
        self.playing = True
        self._fading = False
        self.turned_ms = time.ticks_ms()
        if self.watchdog is None:
            self.watchdog = machine.WDT(timeout=_WATCHDOG_MS)
        return "done"

    def _turn(self, words):
        """CLOSED: hex, a bit for each contact of `order`; MODES: digits top, deck, their wires, contactor, mirror,
        chain; DOME, STONE: a frame in 8 hex digits, or - for silence."""
        if not self.playing:
            return "refused: resting: " + self.resting_because
        closed, modes = int(words[0], 16), [int(digit) for digit in words[1]]
        if len(modes) != 7 or any(mode > 4 for mode in modes):
            return "refused: modes"
        frames = [None if word == "-" else int(word, 16) for word in words[2:4]]
        for number, line in enumerate(self.contacts):
            line.pull(closed >> number & 1)
        self.mains.use(modes)
        for name, frame in zip(("dome", "stone"), frames):
            if name in self.chips:
                self.chips[name].give(frame)
        self._play(0)
        now_us = time.ticks_us()
        self.turned_ms = time.ticks_ms()
        return self._told(now_us)

    def _told(self, now_us):
        """now, levels, risen, contactor; edges; ticks; of each chip reads, short, long, held; lost, longest ms."""
        edges = self.edges
        chips = [
            "%d,%d,%d,%d" % (chip.reads, chip.short, chip.long, chip.held)
            for chip in (self.chips.get("dome"), self.chips.get("stone"))
            if chip is not None
        ]
        rose, self._rose = self._rose, 0
        text = "turned %x %x %x %d %s %s %s %d %d" % (
            now_us, edges.levels, rose, self.mains.closed, edges.take(_EDGES), edges.take_ticks(_EDGES),
            "/".join(chips), edges.lost, self.longest_ms,
        )  # fmt: skip
        self.longest_ms = 0
        return text

    def _restart(self, ms):
        if self.reset_line is None or not 1 <= ms <= _RESET_MS:
            return "refused: 1 to %d ms, after wires" % _RESET_MS
        self._reset_until_ms = time.ticks_add(time.ticks_ms(), ms)
        self.reset_line.pull(1)
        return "done"

    def _end(self):
        self.rest("end")
        if self.watchdog is not None:
            self.talk.reply("done")
            time.sleep_ms(50)  # its reply goes out
            machine.reset()
        return "done"


def run():
    """The program: every pin is let go however it ends."""
    player = Player()
    try:
        while True:
            player.step()
            time.sleep_ms(_PASS_MS)
    finally:
        player.rest("program ended")
