"""How each measured step is carried out: lines to the board, acts by hand, and waiting for what the board has seen.

Every function gets the Bench and returns nothing; Failed says in one line what did not happen. The evidence is the
board's; nothing here decides that a step has passed.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from host.errors import HostError
from host.link import LinkError, replies

if TYPE_CHECKING:
    from host.commissioning.hands import Hands, SimulatedHands
    from host.commissioning.person import Answers, Terminal
    from host.link.client import LineClient, SimulatedClient


TICK_S = 1.0
SOON_S = 60.0  # after this the questions come less often
SLOW_TICK_S = 5.0
TELL_S = 60.0
CAUSE_S = 300.0
COOL_DOWN_S = 4 * 3600.0


class Failed(HostError):
    """The step has failed: one line."""


class Bench:
    """The board under test, the person's hands and a way to tell how it goes on."""

    def __init__(
        self, client: LineClient | SimulatedClient, hands: Hands | SimulatedHands, person: Answers | Terminal
    ) -> None:
        self.client = client
        self.hands = hands
        self.person = person
        self._told_s = None

    def witness(self) -> dict[str, str]:
        """The board's `witness` reply as a dict; `reason` in full."""
        reply = self.client.ask("witness")
        if not reply.startswith("ok "):
            raise LinkError("the board knows no witness steps: load it with this version (tizzone deploy)")
        got = replies.pairs(reply)
        got["reason"] = reply.partition(" reason=")[2]
        return got

    def status(self) -> dict[str, Any]:
        """The board's status."""
        return replies.status(self.client.ask("status"))

    def must(self, line: str) -> str:
        """Send an act that has to be taken."""
        reply = self.client.ask(line)
        if not reply.startswith("ok"):
            raise Failed(f"the board refuses '{line}': {reply[3:]}")
        return reply

    def seen(self, *names: str) -> bool:
        """Whether the board has seen all of this evidence; Failed if the step has ended."""
        got = self.witness()
        if got["active"] == "none":
            raise Failed(got["reason"])
        return not set(names) & set(got["todo"].split(","))

    def all_seen(self) -> bool:
        """Whether nothing is missing any more."""
        got = self.witness()
        if got["active"] == "none":
            raise Failed(got["reason"])
        return got["todo"] == "none"

    def until(self, condition: Callable[[], object], seconds: float, what: str) -> None:
        """Wait for a condition; Failed after so many seconds. Presence is confirmed as the board asks for it."""
        start_s = self.client.now_s
        while not condition():
            waited_s = self.client.now_s - start_s
            if waited_s >= seconds:
                raise Failed(f"{what}: not seen within {seconds:.0f} s{self._why()}")
            self.client.wait(TICK_S if waited_s < SOON_S else SLOW_TICK_S)
            self._progress()

    def _why(self):
        """What the board says about it, in brackets."""
        got, now = self.witness(), self.status()
        said = [got["reason"]] if got["active"] == "none" and got["reason"] != "none" else []
        said += [self._trip(now["trip"])] if now["trip"] != "none" else []
        said += ["missing " + ", ".join(now["missing"])] if now["missing"] else []
        return f" ({'; '.join(said)})" if said else ""

    def _trip(self, name):
        """A trip with its sentence and what to do."""
        return f"trip {name}: {self.client.ask('alarms ' + name)[3:]}"

    def _progress(self):
        now_s = self.client.now_s
        if self._told_s is not None and now_s - self._told_s < TELL_S:
            return
        self._told_s = now_s
        now = self.status()
        self.person.say(
            f"    dome {now['pv_c'] or 0:.0f} of {now['setpoint_c'] or 0:.0f} °C, output {now['out_pct']:.0f} %, "
            f"{now['state']} {now['stage']}" + (f", TRIP {now['trip']}" if now["trip"] != "none" else "")
        )
        if "attend-soon" in replies.alarms(self.client.ask("alarms"))[1] and self.person.stays():
            self.must("present")

    def ready(self) -> None:
        """Idle or finished, so that an evening can be started."""
        self.client.ask("stop")  # refused where nothing runs

        def ended():
            state = self.status()["state"]
            if state == "aborted":
                self.acknowledge()
            return state in ("idle", "stopped", "complete")

        self.until(ended, COOL_DOWN_S, "the last heat has ended")

    def heat(self, setpoint_c: int) -> None:
        """Start an evening at this setpoint."""
        self.ready()
        self.must(f"setpoint {setpoint_c}")
        self.must("start")

    def acknowledge(self) -> None:
        """Acknowledge the trip that the test has made, once its cause is gone."""

        end_s = self.client.now_s + CAUSE_S
        trip = self._trip(self.status()["trip"])
        self.person.say(f"    {trip}")
        if "PULL THE PLUG" in trip:
            raise Failed(trip)

        def accepted():
            reply = self.client.ask("acknowledge")
            if "locked-out" in reply:
                raise Failed("locked out after repeated trips: find the cause, 'unlock' once the oven is below 60 °C")
            if "cause-still-present" in reply and self.client.now_s >= end_s:
                raise Failed(f"the cause of the trip is still there{self._why()}")
            return reply.startswith("ok accepted")

        self.until(accepted, COOL_DOWN_S, "acknowledged trip")


def dead(bench: Bench) -> None:
    """Warm one probe after the other."""
    for probe in ("dome", "stone"):
        if bench.seen(f"{probe}-warmed"):
            continue
        bench.hands.warm(probe)
        bench.until(lambda name=probe: bench.seen(f"{name}-warmed"), 180.0, f"{probe} probe warmed by 3 K")  # type: ignore[misc]
        bench.hands.let_go(probe)


def lamp(bench: Bench) -> None:
    """Heat the lamps to 60 °C."""
    bench.heat(60)
    bench.until(bench.all_seen, 1800.0, "lamps lit and reading risen")
    bench.must("stop")


def transfer(bench: Bench) -> None:
    """Both contacts while the lamps are on; again where the board was not sure; then the fan's rest."""
    bench.heat(60)
    for evidence, act in (
        ("selector-opens-contactor", lambda good: bench.hands.selector("ours" if good else "off")),
        ("enable-opens-contactor", bench.hands.enable),
    ):
        for _ in range(6):
            bench.until(lambda: bench.status()["contactor"] and bench.status()["permit"], 60.0, "heat is on")
            bench.client.wait(2.0)
            act(False)
            bench.until(lambda: bench.status()["state"] == "held", 60.0, "the evening is held")
            act(True)
            bench.until(lambda: bench.client.ask("resume").startswith("ok"), 60.0, "resumed")
            if bench.seen(evidence):
                break
        else:
            raise Failed(f"{evidence}: never seen; does the contact break the coil itself?")
    bench.until(lambda: bench.seen("fan-turns"), 60.0, "the fan turns")
    bench.must("stop")
    bench.until(bench.all_seen, 1800.0, "the fan rests after the heat")


def cutoff(bench: Bench) -> None:
    """Lower the limit below the reading while heat is on."""
    bench.heat(60)
    bench.until(lambda: (bench.status()["pv_c"] or 0.0) >= 40.0, 1800.0, "40 °C")
    bench.must("witness cut")
    bench.until(bench.all_seen, 120.0, "heat off and contactor fallen")
    bench.acknowledge()


def first_heat(bench: Bench) -> None:
    """120 °C for ten minutes."""
    bench.heat(120)
    bench.until(bench.all_seen, 3 * 3600.0, "ten minutes above 110 °C")
    bench.must("stop")


def limiter(bench: Bench) -> None:
    """Let the limiter open at 110 °C or more."""
    bench.heat(120)
    bench.until(lambda: (bench.status()["pv_c"] or 0.0) >= 110.0, 3600.0, "110 °C")
    for attempt in range(2):  # a third trip in a row would lock the board out
        bench.until(lambda: bench.status()["permit"], 600.0, "heat is on")
        bench.hands.limiter_down(bench.status()["pv_c"])
        bench.until(lambda: bench.status()["state"] == "aborted", 900.0, "the limiter opens")
        opened = bench.seen("limiter-opens-contactor")
        bench.hands.limiter_back()
        bench.acknowledge()
        if opened:
            break
        if attempt == 0:
            bench.heat(120)
    bench.until(bench.all_seen, 60.0, "the limiter opens the contactor and is reset")


def full_heat(bench: Bench) -> None:
    """450 °C, or the highest setpoint that the board allows."""
    now = bench.status()
    bench.heat(int(min(450.0, now["release_c"], now["limit_c"] - 20.0)))
    bench.until(bench.all_seen, 3 * 3600.0, "a minute at full heat")
    bench.must("stop")


PROCEDURES = {
    "dead": dead,
    "lamp": lamp,
    "transfer": transfer,
    "cutoff": cutoff,
    "first-heat": first_heat,
    "limiter": limiter,
    "full-heat": full_heat,
}
