"""The two boards on the table: both ports open, the board armed, the player playing; let go of at the end."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

from host.link import LinkError, LinkLost, ports, replies
from host.oven import preset
from host.oven.base import Plant
from host.player import PlayerError
from host.player.bench import ROW_NAMES, Bench
from host.player.harness import RESET, Harness
from host.player.measures import away_s, boot, ticks
from host.player.talk import BoardLine
from host.player.wire import PlayerClient
from host.simulator.assembly import assembled

ARMED_S = 40.0
SMALL = {"bulb_j_k": 5.0, "bulb_shade_w_k": 2.0, "shade_j_k": 30.0, "draught_w_k": 0.3, "cloth_w_k": 0.1}
REST_S = 600.0  # for the harness to be touched by a person


def small_lamp(seed: int = 1) -> Plant:
    """The plant that is played where nobody says another: a lamp under tin, at 50 °C within a minute."""
    return preset("lamp", seed=seed, **SMALL)


class Stand:
    """A bench that is ready; a context that ends it. PlayerError where the board does not arm, with what is missing."""

    row_names = ROW_NAMES

    def __init__(self, bench: Bench, setpoint_c: float) -> None:
        self.bench = bench
        self.bench.setpoint_c = setpoint_c
        self.stopped_us: int | None = None

    @classmethod
    def opened(cls, harness: Harness, port: str, player: str, plant: Plant, setpoint_c: float) -> Stand:
        """On two serial ports, in real time."""
        ports.open_port(port).close()  # says in one line what is wrong with it
        client = PlayerClient(ports.open_port(player, 0.02))
        line = BoardLine(lambda: ports.open_port(port, 0.0), time.monotonic)
        outside = assembled(harness.pins, plant)
        made = cls(Bench(harness, client, line, outside, time.monotonic, time.sleep), setpoint_c)
        try:
            return made.arm()
        except BaseException:
            made.close()
            raise

    def arm(self) -> Stand:
        """The player plays, the board arms, its setpoint is the drill's."""
        bench = self.bench
        bench.begin(60 if getattr(bench.harness.pins, "MAINS_HZ", 50) == 60 else 50)
        if not bench.until(lambda: "armed" not in bench.status.get("missing", ["armed"]), ARMED_S):
            said = ", ".join(bench.status.get("missing", [])) or "nothing comes: is it loaded (tizzone deploy)?"
            raise PlayerError(f"the board does not arm; it says: {said}")
        self._acknowledged()
        reply = bench.send(f"setpoint {bench.setpoint_c:g}")
        if not reply.startswith("ok"):
            raise PlayerError(f"the board refuses {bench.setpoint_c:g} °C: {reply[3:] or 'no reply'}")
        return self

    def _acknowledged(self):
        """A board that was started before the player found no probe and no contact, and has said so with a trip."""
        bench = self.bench
        for restarts in (False, True):
            bench.refresh()
            if bench.trip == "none":
                return
            bench.send("acknowledge")
            bench.send("unlock")
            bench.refresh()
            if bench.trip != "none" and restarts:
                bench.status = {}
                bench.player.must("restart 200")
                bench.until(lambda: "armed" not in bench.status.get("missing", ["armed"]), ARMED_S)
        if bench.trip != "none":
            raise PlayerError(f"the board holds the trip {bench.trip}: press the board's reset within a few seconds of "
                              "the next try, while the player plays")  # fmt: skip

    def identity(self) -> dict[str, str]:
        """{"board", "version", "mark"} as the board says them; "?" for what it does not."""
        found = {}
        for question, names in (("version", ("board", "version")), ("witness", ("mark",))):
            try:
                got = replies.pairs(self.bench.send(question))
            except LinkError:
                got = {}
            found.update({name: got.get(name, "?") for name in names})
        return found

    def boot(self, by_hand: bool = False, say: Callable[[str], Any] = print) -> dict[str, Any]:
        """{"boot": what the outputs did while the board restarted}; {} where neither a hand nor a wire restarts it."""
        bench = self.bench
        if by_hand:
            losses = bench.board.losses
            say("unplug your board's USB now, and plug it in again after a few seconds")
            seen = boot(bench, lambda: bench.until(lambda: bench.board.losses > losses, REST_S))
        elif bench.harness.wire(RESET) is not None:
            before = len(bench.ticks_us)
            seen = boot(bench, lambda: bench.player.must("restart 200"))
            if seen["armed_s"] is None or away_s(bench.ticks_us[before:], 0) is None:
                say("the reset wire does not restart the board: left out; --by-hand looks at a power-up instead")
                return {}
        else:
            return {}
        bench.send(f"setpoint {bench.setpoint_c:g}")
        return {"boot": seen}

    def measures(self) -> dict[str, Any]:
        """Ticks of all that was played; the time of the watchdog's bite if the drill had the program stopped."""
        bench = self.bench
        stopped = next((event["t_s"] for event in bench.events if event["kind"] == "case"
                        and event["value"] == "program_stopped"), None)  # fmt: skip
        bite_s = None if stopped is None else away_s(bench.ticks_us, round(stopped * 1e6))
        return {"ticks": ticks(bench.ticks_us), "watchdog_s": bite_s, "edges_lost": bench.lost,
                "player_longest_ms": bench.longest_ms,
                "reads": {name: list(counts) for name, counts in bench.reads.items()}}  # fmt: skip

    def close(self) -> None:
        """The board stops, the player lets everything go."""
        bench = self.bench
        try:
            bench.send("stop", 1.5)
            bench.player.ask("end")
        except (LinkLost, PlayerError):
            pass  # it rests by itself within a second
        bench.board.close()
        bench.player.close()

    def __enter__(self) -> Stand:
        return self

    def __exit__(self, *what: object) -> None:
        self.close()


def described(stand: Stand, oven: str) -> dict[str, Any]:
    """What a run folder's summary says of it."""
    board = stand.identity()
    return {"title": f"Played evening: {oven}, on the board itself", "board": board["board"], "mark": board["mark"],
            "about": ["The board's own pins; the oven was played by a second board at 3.3 V, no mains."]}  # fmt: skip
