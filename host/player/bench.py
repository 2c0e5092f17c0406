"""Player, simulated oven and the board's own link, in real time: one turn every tenth of a second.

    bench = Bench(harness, player, board_line, outside, clock, sleep)
    bench.begin(); bench.advance(10.0); bench.send("start"); bench.state, bench.trip, bench.rows

The oven's clock is the player's: each edge of the board's outputs moves the simulated relays and contactor at its own
time, and what these show goes back with the next turn. Contactor, mirror contact and current pulses are the player's
own work, within milliseconds. A Cook or a Fault acts on `bench.outside` as on any simulated oven.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from host.link import LinkError, replies
from host.player.harness import SENSES, Harness
from host.player.talk import BoardLine
from host.player.wire import PlayerClient, Told, Turn
from host.simulator.outside import Outside

TURN_S = 0.1
STATUS_S = 1.0
NO_WAIT_S = 0.001  # less is none: a clock in whole steps might never get there
NOBODY = "none"
RELAY_MODES = {None: 0, "welded": 1, "open": 2, "half": 3, "leaks_half": 4}
CONTACTOR_MODES = {None: 0, "welded": 1, "open": 2}
ROW_NAMES = (
    "t_s", "dome_c", "stone_c", "pv_c", "setpoint_c", "out_pct", "heat_top", "heat_deck", "permit", "state", "trip",
    "box_c", "contactor", "stage", "stone_pv_c",
)  # fmt: skip


def wire_mode(outside: Outside, name: str) -> int:
    """0 whole, 1 cut, 2 short to GND: the wire of a sensed input."""
    contacts = outside.contacts
    return 2 if name in contacts.shorted_wires else 1 if name in contacts.cut_wires else 0


def turn_of(outside: Outside, harness: Harness) -> Turn:
    """What the player is to show of the simulated oven now."""
    pins = harness.pins
    contacts, frames = outside.contacts, {}
    outside.quiet_us = 0
    contacts.settle(outside)
    closed = {wire.name for wire in harness.wires if wire.job == "closes" and wire.pin is not None
              and contacts.closed >> wire.pin & 1}  # fmt: skip
    for (bus, select), frame in outside.buses.frames.items():
        for probe, spec in pins.PROBES.items():
            if spec["cs"] == select and bus == f"spi{spec['bus'].get('spi', -spec['bus']['sck'])}":
                frames[probe] = bytes(frame)
    modes = [2 if not relay.element_ok else RELAY_MODES[relay.stuck] for relay in outside.relays]
    chain = outside.position == "ours" and outside.has_mains and outside.enable
    chain = chain and not (outside.limiter is not None and outside.limiter.has_tripped)
    wires = [wire_mode(outside, name) for name in SENSES]
    return Turn(closed, (modes[0], modes[1]), (wires[0], wires[1]), CONTACTOR_MODES[outside.contactor.stuck],
                wire_mode(outside, "CONTACTOR_OPEN"), int(chain), frames.get("dome"), frames.get("stone"))  # fmt: skip


class Bench:
    """`clock()` and `sleep(s)`: seconds, real or emulated. `cook`: somebody at the oven (host/simulator/cook.py)."""

    def __init__(
        self,
        harness: Harness,
        player: PlayerClient,
        board: BoardLine,
        outside: Outside,
        clock: Callable[[], float],
        sleep: Callable[[float], Any],
    ) -> None:
        self.harness, self.player, self.board, self.outside = harness, player, board, outside
        self.clock, self.sleep = clock, sleep
        self.cook: Any = None
        self.status: dict[str, Any] = {}
        self.rows: list[dict[str, Any]] = []
        self.events: list[dict[str, Any]] = []
        self.ticks_us: list[int] = []
        self.aside_us: list[int] = []  # when the board was restarted or the player let go
        self.edges: list[tuple[int, str, int]] = []  # (us, line, level)
        self.reads: dict[str, tuple[int, ...]] = {}
        self.lost = self.longest_ms = 0
        self.is_seen = False  # rows are written from the board's first status on
        self._board_pins = {wire.player: wire.pin for wire in harness.wires if wire.is_output}
        self._names = {wire.player: wire.name for wire in harness.wires if wire.is_output}
        self._levels = self._unexplained = 0
        self._has_levels = False  # the first reply has come
        self._next_s = self._asked_s = 0.0
        self._next_row_us = 1_000_000
        self._heat_us = {"HEAT_TOP": 0, "HEAT_DECK": 0}
        self._told = 0
        self.hz = 50
        self.setpoint_c = 50.0  # of the drill

    # --- what a cook or a drill asks -----------------------------------------------------------------

    @property
    def now_s(self) -> float:
        """Seconds since the player began, by its clock."""
        return self.outside.now_us / 1e6

    @property
    def state(self) -> str:
        """State of the board as it last said; "none" while it says nothing."""
        return self.status.get("state", NOBODY)

    @property
    def stage(self) -> str:
        """Its stage."""
        return self.status.get("stage", NOBODY)

    @property
    def trip(self) -> str:
        """Its first trip, "none" without one."""
        return self.status.get("trip", NOBODY)

    def begin(self, hz: int = 50) -> None:
        """The player plays; the board sees its contacts within a turn."""
        self.hz = hz
        self.player.begin(self.harness, hz)
        self._next_s = self.clock()
        self.turn()

    def refresh(self) -> None:
        """Ask the board how it stands, now."""
        self._take_status(self.send("status"))

    def say(self, line: str) -> None:
        """A line to the board; its reply becomes an event."""
        self.board.say(line, lambda reply: self.event("cook", text=f"{line}: {reply}"))

    def send(self, line: str, within_s: float = 4.0) -> str:
        """A line to the board and its reply, "" if none comes; the oven goes on meanwhile."""
        got: list[str] = []
        self.board.say(line, got.append)
        until = self.now_s + within_s
        while not got and self.now_s < until:
            self.turn()
        return got[0] if got else ""

    def advance(self, seconds: float) -> None:
        """Go on for so long."""
        until = self.now_s + seconds
        while self.now_s < until:
            self.turn()

    def until(self, condition: Callable[[], bool], seconds: float) -> bool:
        """Go on until condition() holds; whether it did within so long."""
        end = self.now_s + seconds
        while not condition():
            if self.now_s >= end:
                return False
            self.turn()
        return True

    def pause(self, seconds: float) -> None:
        """Say nothing to the player for so long, as a laptop that has gone; then begin again."""
        self.set_aside()
        until = self.clock() + seconds
        while self.clock() < until:
            self.sleep(0.05)
            self.board.poll()
        self.player.begin(self.harness, self.hz)
        self._next_s = self.clock()

    def set_aside(self) -> None:
        """The ticks of the coming second tell nothing of the board's own pace."""
        self.aside_us.append(self.outside.now_us)

    def event(self, kind: str, **values: Any) -> None:
        """Note something that happened now."""
        self.events.append({"t_s": self.now_s, "kind": kind, **values})

    # --- one turn ------------------------------------------------------------------------------------

    def turn(self) -> Told:
        """One exchange with the player, at the next tenth of a second; the oven follows; the board is listened to."""
        wait_s = self._next_s - self.clock()
        self._next_s = max(self._next_s, self.clock()) + TURN_S
        while wait_s > NO_WAIT_S:
            self.sleep(min(wait_s, 0.02))
            self.board.poll()
            wait_s = self._next_s - TURN_S - self.clock()
        told = self.player.turn(turn_of(self.outside, self.harness))
        self._follow(told)
        self.board.poll()
        self._ask_status()
        if self.outside.now_us >= self._next_row_us:
            self._next_row_us += 1_000_000
            self._row()
        if self.cook is not None and self.status:
            self.cook.act(self)
        return told

    def _follow(self, told):
        """The oven up to the player's now, each edge at its time."""
        outside = self.outside
        for at_us, levels in told.edges:
            self._moved(at_us, levels)
        # The levels of a reply and its edges are not of one moment: alone they count only where no edge explains them,
        # at the beginning or twice over (an edge was lost).
        self._unexplained = self._unexplained + 1 if not told.edges and told.levels != self._levels else 0
        if self._unexplained >= (2 if self._has_levels else 1):
            self._moved(told.now_us, told.levels)
        self._has_levels = True
        rose = sum(1 << pin for at, pin in self._board_pins.items() if told.rose >> at & 1)
        self._pass(told.now_us, rose)
        self.ticks_us += told.ticks_us
        self.reads, self.lost = told.reads, told.lost
        self.longest_ms = max(self.longest_ms, told.longest_ms)
        for us, kind, text in outside.happened[self._told :]:
            self.events.append({"t_s": us / 1e6, "kind": kind, "text": text})
        self._told = len(outside.happened)

    def _moved(self, at_us, levels):
        """The board's outputs are so from then on."""
        self._pass(at_us, 0)
        for player_pin, name in self._names.items():
            if (levels ^ self._levels) >> player_pin & 1:
                self.edges.append((at_us, name, levels >> player_pin & 1))
        self._levels = levels

    def _pass(self, to_us, rose):
        span_us = to_us - self.outside.now_us
        if span_us <= 0:
            return
        levels = {pin: self._levels >> at & 1 for at, pin in self._board_pins.items()}
        for at, name in self._names.items():
            if name in self._heat_us and self._levels >> at & 1:
                self._heat_us[name] += span_us
        self.outside.advance(span_us, levels, rose)

    def _ask_status(self):
        if self.now_s >= self._asked_s and not self.board.is_waiting:
            self._asked_s = self.now_s + STATUS_S
            self.board.say("status", self._take_status)

    def _take_status(self, reply):
        try:
            new = replies.status(reply)
        except LinkError:
            return
        for name in ("state", "stage", "trip", "breads"):
            if new[name] != self.status.get(name):
                self.event(name, value=new[name])
        self.status = new
        self.is_seen = True

    def _row(self):
        if not self.is_seen:
            return
        known, outside = self.status, self.outside
        row = {name: known.get(name, float("nan")) for name in ROW_NAMES}
        for name, column in (("HEAT_TOP", "heat_top"), ("HEAT_DECK", "heat_deck")):
            row[column] = min(1.0, self._heat_us[name] / 1e6)
            self._heat_us[name] = 0
        row.update(t_s=outside.now_us / 1e6, dome_c=outside.true_c("dome"), stone_c=outside.true_c("stone"),
                   trip="" if self.trip == NOBODY else self.trip,
                   contactor=int(outside.contactor.is_closed))  # fmt: skip
        self.rows.append(row)
