"""The laptop's end of the player's line: what it is told, what it answers.

client = PlayerClient(port)            LinkLost where nobody answers
client.begin(harness, hz=50)
told = client.turn(Turn(...))          once every 100 ms or so; a second of silence and the player lets all go
"""

from __future__ import annotations

import json
import time
from dataclasses import dataclass, field
from typing import Any

from host.link import LinkLost
from host.link.frames import LineCutter, on_wire, unframed
from host.player import PlayerError
from host.player.harness import PLAYER_PINS, RESET, SENSES, Harness

VERSION = 1
REPLY_S = 0.6
RESTS_S = 2.0
US_WRAP = 1 << 30
LOCAL = ("CONTACTOR_OPEN", *SENSES)  # what the player closes by itself, within milliseconds


def order_of(harness: Harness) -> list[str]:
    """The contacts whose bits a turn carries, lowest bit first."""
    return [name for name in harness.setup()["closes"] if name not in LOCAL]


def wires_of(harness: Harness, hz: int = 50) -> dict[str, Any]:
    """What the player is told of its pins."""
    pulsed = int(getattr(harness.pins, "CONTACTOR_DRIVE", "level") == "pulse")
    return {**harness.setup(), "hz": hz, "pulsed": pulsed, "reset": PLAYER_PINS[RESET], "order": order_of(harness)}


@dataclass
class Turn:
    """What stands at the lines until the next turn. `closed`: names of closed contacts; relays, wires: (top, deck) as
    host/player/board/player/mains.py numbers them; `chain`: the coil's circuit is closed and there is mains."""

    closed: set[str] = field(default_factory=set)
    relays: tuple[int, int] = (0, 0)
    wires: tuple[int, int] = (0, 0)
    contactor: int = 0
    mirror: int = 0
    chain: int = 1
    dome: bytes | None = None
    stone: bytes | None = None

    def line(self, order: list[str]) -> str:
        """As the player takes it."""
        mask = sum(1 << number for number, name in enumerate(order) if name in self.closed)
        digits = "".join(map(str, (*self.relays, *self.wires, self.contactor, self.mirror, self.chain)))
        frames = " ".join("-" if frame is None else frame.hex() for frame in (self.dome, self.stone))
        return f"turn {mask:x} {digits} {frames}"


@dataclass
class Told:
    """What the player saw since the turn before. Times in us since `begin`, by its own clock; levels are masks of its
    GP numbers. `reads`: {"dome": (reads, too short, too long, held)}."""

    now_us: int
    levels: int
    rose: int
    contactor_closed: bool
    edges: list[tuple[int, int]]
    ticks_us: list[int]
    reads: dict[str, tuple[int, ...]]
    lost: int
    longest_ms: int


class PlayerClient:
    """Speaks over `port` (write, read(count), in_waiting, close). `clock`: seconds."""

    def __init__(self, port: Any, clock: Any = time.monotonic) -> None:
        self.port = port
        self.clock = clock
        self.order: list[str] = []
        self.probes: list[str] = []
        self._cutter = LineCutter()
        self._last_us = 0  # of the player's clock, unwrapped
        self._base_us: int | None = None

    def ask(self, line: str, reply_s: float = REPLY_S) -> str:
        """The reply to one line, LinkLost if none comes; PlayerError where the player refuses."""
        try:
            if getattr(self.port, "in_waiting", 0):
                self.port.read(self.port.in_waiting)
            self._cutter.rest = b""
            self.port.write(on_wire(line))
            until = self.clock() + reply_s
            while self.clock() < until:
                for text in self._cutter.lines(self.port.read(max(1, getattr(self.port, "in_waiting", 0)))):
                    reply = unframed(text)
                    if reply is not None:
                        return reply
        except OSError as error:  # serial.SerialException is one
            raise LinkLost(f"the player's port has gone ({error.strerror or error})") from None
        raise LinkLost("the player does not answer: is it plugged in, and loaded (tizzone player load)?")

    def must(self, line: str) -> str:
        """The same; PlayerError for a refusal."""
        reply = self.ask(line)
        if reply == "no resting: silent":
            raise PlayerError("the laptop was silent for a second, so the player let everything go: keep the laptop "
                              "awake, close what keeps it busy, and begin again")  # fmt: skip
        if reply.startswith("no "):
            raise PlayerError(f"the player refuses '{line.split(' ')[0]}': {reply[3:]}")
        return reply

    def begin(self, harness: Harness, hz: int = 50) -> None:
        """Tell it its pins and let it play; contacts are open until the first turn."""
        words = self.ask("who", 2.0).split()
        until = self.clock() + RESTS_S
        while words[2:3] == ["playing"] and not self.order and self.clock() < until:
            words = self.ask("who").split()  # whoever played before has gone: it rests after a second
        if words[:1] != ["player"]:
            raise PlayerError("what answers on this port is no player: name the right one with --player")
        if words[1] != str(VERSION):
            raise PlayerError(f"the player runs another version ({words[1]}): load it anew, tizzone player load")
        if words[2] == "new" or not self.order:
            self.must("wires " + json.dumps(wires_of(harness, hz)))
        self.must("begin")
        self.order, self.probes = order_of(harness), list(harness.setup()["probes"])

    def turn(self, turn: Turn) -> Told:
        """One exchange."""
        reply = self.must(turn.line(self.order))
        words = reply.split()
        if words[0] != "turned" or len(words) != 10:
            raise PlayerError(f"the player's answer is not understood: {reply[:60]!r}")
        now = int(words[1], 16)
        self._last_us += (now - self._last_us) % US_WRAP if self._base_us is not None else now
        self._base_us = now if self._base_us is None else self._base_us
        chips = [tuple(map(int, part.split(","))) for part in words[7].split("/")]
        return Told(
            self._last_us - self._base_us, int(words[2], 16), int(words[3], 16), words[4] == "1",
            [(self._near(int(at, 16)), int(levels, 16)) for at, levels in _pairs(words[5])],
            [self._near(int(at, 16)) for at in _items(words[6])],
            dict(zip(self.probes, chips, strict=False)), int(words[8]), int(words[9]),
        )  # fmt: skip

    def _near(self, at):
        """us since begin of a moment near the reply's: before it, but an edge may come while it is written."""
        return self._last_us + (at - self._last_us + US_WRAP // 2) % US_WRAP - US_WRAP // 2 - (self._base_us or 0)

    def close(self) -> None:
        """Let the port go."""
        try:
            self.port.close()
        except OSError:  # it has gone already
            self.port = None


def _items(text):
    return [] if text == "-" else text.split(",")


def _pairs(text):
    return [item.split(":") for item in _items(text)]
