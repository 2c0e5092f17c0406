"""Evening and drill with both firmwares on two emulated chips joined pin to pin: the figures of boards/PLAYER.md.

    python -m tests.player.emulated drill [FAULT ...]     every fault that the harness can make, with the measures
    python -m tests.player.emulated evening               a bread on the small lamp, beside the simulated evening
    python -m tests.player.emulated cable [STAGE ...]     the board's own USB cable out for a while in each stage

Two to five minutes of computing each, more on a busy machine. Exit code 1 for a miss, or rows beyond the bounds.
"""

import sys
import time

from host.deploy import plan
from host.pins import pin_map
from host.player import faults, proof
from host.player.bench import Bench
from host.player.drill import HEAT, Drill
from host.player.evening import apart, bake, settings_of, simulated
from host.player.harness import Harness
from host.player.stand import Stand, small_lamp
from host.player.talk import BoardLine
from host.player.wire import PlayerClient
from host.simulator.assembly import assembled
from host.simulator.cook import Cook
from tests.pico.image import NoFirmware, loaded
from tests.pico.records import released
from tests.pico.rig import ready
from tests.player.conftest import SETTINGS
from tests.player.duo import Duo, Port

BREADS = 1
STAGES = ("preheat", "load", "bake", "recover")
OUT_S = 4.0
LATE_MS = 350.0  # a tick beside a write to flash
WARM_C = 45  # where its cooling ends: an emulated second is a long one


def stood(duo, harness):
    """A Stand on two emulated boards, both just powered."""
    line = BoardLine(lambda: Port(duo, "board"), lambda: duo.t)
    client = PlayerClient(Port(duo, "player"), lambda: duo.t)
    duo.until(lambda: duo.usb["player"], 3)
    bench = Bench(harness, client, line, assembled(harness.pins, small_lamp(), 1), lambda: duo.t, duo.run)
    return Stand(bench, SETTINGS["setpoint_c"]).arm()


class CheckedDrill(Drill):
    """A drill whose verdict about the heat pins is held against the emulated chip itself."""

    def __init__(self, duo, bench, say):
        super().__init__(bench, say)
        self.duo = duo

    def _judge(self, promise, result, seen):
        super()._judge(promise, result, seen)
        levels = self.duo.op(op="levels")["levels"]
        truly_high = [name for name in HEAT if levels[name][2]]
        if (seen.off_us is None) != bool(truly_high):
            result.failed += f" (the chip's own pins: {' and '.join(truly_high) or 'none'} high)"


def drill(duo, stand, names, say):
    """1 if a fault was missed."""
    harness = stand.bench.harness
    cases = faults.ordered([*faults.library(harness, 50.0), *faults.of_two_boards(harness)])
    measures = stand.boot(say=say)
    say(f"boot: {measures}")
    results = CheckedDrill(duo, stand.bench, say).run([case for case in cases if not names or case.name in names])
    made = proof.proof(harness, stand.identity(), results, {**measures, **stand.measures()}, emulated=True)
    for line in (*proof.lines(made), proof.sentence(made), str(made["measures"])):
        say(line)
    return 1 if made["missed"] else 0


def evening(duo, stand, names, say):
    """1 if rows were beyond the bounds."""
    bench = stand.bench
    settings = settings_of(bench)
    say(f"ended {bake(bench, BREADS, settings['bake_s'])}; {bench.events[-12:]}")
    compared = apart(bench.rows, simulated("boards/pico.py", small_lamp(), settings, BREADS).rows)
    say(f"{compared}; {stand.measures()}")
    return 0 if compared.is_within else 1


def cable(duo, stand, names, say):
    """1 if the evening did not go on as with a real oven while nobody was at the board's own port. The emulator's host
    takes nothing of it meanwhile; what a plug does to the chip's USB lines is not modelled."""
    bench, wrong = stand.bench, []
    plain = bench.board.opens
    bench.cook = Cook(settings_of(bench)["bake_s"])
    bench.send("start")

    def nobody():
        raise OSError(5, "unplugged")

    for stage in names or STAGES:
        if not bench.until(lambda stage=stage: bench.stage == stage, 240.0):
            wrong.append(f"{stage} never came")
            continue
        ticks, moves = len(bench.ticks_us), len(bench.edges)
        bench.board.opens, bench.board.port.is_gone = nobody, True
        duo.op(op="reads", who="board", yes=False)
        bench.advance(OUT_S)
        bench.board.opens = plain
        duo.op(op="reads", who="board", yes=True)
        asked = bench.until(lambda: bench.send("status").startswith("ok"), 8.0)  # "" until its port is found again
        gaps_ms = [(b - a) / 1000 for a, b in zip(bench.ticks_us[ticks:], bench.ticks_us[ticks + 1 :], strict=False)]
        bench.refresh()
        say(f"{stage}: {len(bench.edges) - moves} edges while it was out, longest tick {max(gaps_ms):.1f} ms; then "
            f"{bench.state}, {bench.stage}, trip {bench.trip}")  # fmt: skip
        if not asked or bench.trip != "none" or bench.state != "running" or max(gaps_ms) > LATE_MS:
            wrong.append(stage)
    say(f"{len(names or STAGES)} stages; wrong: {', '.join(wrong) or 'none'}")
    return 1 if wrong else 0


def main(argv):
    """Carry one out."""
    if not argv or argv[0] not in ("drill", "evening", "cable"):
        print(__doc__, file=sys.stderr)
        return 2
    try:
        ready()
    except NoFirmware as error:
        print(f"emulated: {error}", file=sys.stderr)
        return 2
    harness = Harness(pin_map.read("pico"))
    image = loaded(
        plan.make("boards/pico.py", is_compiled=True), released(release_c=60, settings={**SETTINGS, "cool_c": WARM_C})
    )
    begun = time.monotonic()
    with Duo(harness, image) as duo:
        stand = stood(duo, harness)
        act = {"drill": drill, "evening": evening, "cable": cable}[argv[0]]
        return act(
            duo,
            stand,
            argv[1:],
            lambda text: print(f"{duo.t:7.1f} s {time.monotonic() - begun:5.0f} {text}", flush=True),
        )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
