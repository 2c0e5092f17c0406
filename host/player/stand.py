"""The two boards on the table: both ports open, the board armed, the player playing; let go of at the end."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

from host.deploy.plan import FLAG
from host.link import LinkError, LinkLost, ports, replies
from host.oven import preset
from host.oven.base import Plant
from host.player import PlayerError
from host.player.bench import ROW_NAMES, Bench
from host.player.harness import RESET, Harness
from host.player.measures import away_s, bite_s, boot, ticks
from host.player.talk import BoardLine
from host.player.wire import PlayerClient
from host.simulator.assembly import assembled

ARMED_S = 40.0
ANSWERS_S = 8.0
RESETS_S = 2.0
# What starts a board at its prompt: out of any raw prompt, then one line.
START = (
    f"\r\x03\x02import os,machine\r\nos.remove({FLAG!r}) if {FLAG!r} in os.listdir() else None\r\nmachine.reset()\r\n"
).encode()
SETTLE_S = 6.0  # until what was missing has been seen to be there
COOLED_S = 10.5 * 3600.0  # after so long without heat, the selector closed, a board lets any trip be acknowledged
ASK_S = 60.0
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

    @classmethod
    def opened(
        cls,
        harness: Harness,
        port: str,
        player: str,
        plant: Plant,
        setpoint_c: float,
        waits: bool = False,
        say: Callable[[str], Any] = print,
        clock: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], Any] = time.sleep,
    ) -> Stand:
        """On two serial ports, in real time. `waits`: a trip that wants ten hours without heat gets them."""
        ports.open_port(port).close()  # says in one line what is wrong with it
        client = PlayerClient(ports.open_port(player, 0.02), clock)
        line = BoardLine(lambda: ports.open_port(port, 0.0), clock)
        made = cls(Bench(harness, client, line, assembled(harness.pins, plant), clock, sleep), setpoint_c)
        try:
            return made.arm(waits, say)
        except BaseException:
            made.close()
            raise

    def arm(self, waits: bool = False, say: Callable[[str], Any] = print) -> Stand:
        """The player plays, the board arms, its setpoint is the drill's."""
        bench = self.bench
        bench.begin()
        if not bench.until(lambda: bool(bench.status), ANSWERS_S):
            bench.board.raw(START)  # it stands at its prompt, where the check or the last run has left it
        if not bench.until(lambda: "armed" not in bench.status.get("missing", ["armed"]), ARMED_S):
            said = ", ".join(bench.status.get("missing", [])) or "nothing comes: is it loaded (tizzone deploy)?"
            raise PlayerError(f"the board does not arm; it says: {said}")
        self._acknowledged(waits, say)
        reply = bench.send(f"setpoint {bench.setpoint_c:g}")
        if not reply.startswith("ok"):
            raise PlayerError(f"the board refuses {bench.setpoint_c:g} °C: {reply[3:] or 'no reply'}")
        return self

    def _acknowledged(self, waits, say):
        """A board that was started before the player found no probe and no contact, and has said so with a trip."""
        bench = self.bench
        said = self._asked(SETTLE_S, 0.5)
        if waits and "hot" in said:
            say(f"a cold oven is played until the trip {bench.trip} can be acknowledged, for {COOLED_S / 3600:g} h at "
                "most: leave everything on")  # fmt: skip
            said = self._asked(COOLED_S, ASK_S)
        if not said:
            return
        wait = ""
        if "hot" in said:
            wait = (
                "; it ran while nobody played, and wants ten hours without heat: --wait-out plays a cold oven for them"
            )
        raise PlayerError(
            f"the board holds the trip {bench.trip} and does not let it be acknowledged ({said[3:]}){wait}"
        )

    def _asked(self, seconds, pause_s):
        """Acknowledge now and then; why not, "" once nothing stands any more."""
        bench, said = self.bench, "no nothing asked"
        until_s = bench.now_s + seconds
        while bench.now_s < until_s:
            bench.refresh()
            if bench.trip == "none":
                return ""
            said = bench.send("acknowledge")
            bench.send("unlock")
            bench.advance(pause_s)
        return said

    def _to_prompt(self):
        """Before the contacts go: a board that loses all of them and its probes at once trips, and wants ten hours."""
        bench = self.bench
        bench.send("stop", 1.5)
        for _ in range(10):
            bench.refresh()
            if bench.trip != "none":
                bench.send("acknowledge")
            if bench.send("maintenance").startswith("ok"):
                bench.advance(RESETS_S)
                return
            bench.advance(0.5)

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
            before = max(0, len(bench.ticks_us) - 1)
            seen = boot(bench, lambda: bench.player.must("restart 200"))
            if seen["armed_s"] is None or away_s(bench.ticks_us[before:], 0) is None:
                say("the reset wire does not restart the board: left out; --by-hand looks at a power-up instead")
                return {}
        else:
            return {}
        bench.send(f"setpoint {bench.setpoint_c:g}")
        return {"boot": seen}

    def measures(self) -> dict[str, Any]:
        """Ticks of all that was played; if the drill had the program stopped, how long the board was away and after
        what time the watchdog bit."""
        bench = self.bench
        stopped = next((event["t_s"] for event in bench.events if event["kind"] == "case"
                        and event["value"] == "program_stopped"), None)  # fmt: skip
        gone_s = None if stopped is None else away_s(bench.ticks_us, round(stopped * 1e6))
        bit_s = None if stopped is None else bite_s(bench.ticks_us, bench.edges, round(stopped * 1e6))
        return {"ticks": ticks(bench.ticks_us, bench.aside_us), "watchdog_s": gone_s, "watchdog_bite_s": bit_s,
                "watchdog_set_s": getattr(bench.harness.pins, "WATCHDOG_MS", 4000) / 1000, "edges_lost": bench.lost,
                "player_longest_ms": bench.longest_ms,
                "reads": {name: list(counts) for name, counts in bench.reads.items()}}  # fmt: skip

    def close(self) -> None:
        """The board stops and goes to its prompt, where nothing is armed; then the player lets everything go."""
        bench = self.bench
        try:
            self._to_prompt()
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
