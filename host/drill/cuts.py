"""Power cuts at random moments of evenings, learning and commissioning: the board comes back idle or tripped, and cold
of heat; nothing on its flash is lost but what was being written.

    for outcome in campaign(1000): ...     an Outcome each

At random ticks of a path (host/drill/cut_paths.py) the process is forked, and the copy loses its supply: within
the wait of the coming tick, or in the middle of what this tick has written, byte by byte and by each model of a medium
(host/shim/simfs.py). In one of four cases it goes away again while the board starts. Then a person acknowledges.
"""

from __future__ import annotations

import json
import os
import random
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from host.drill.cut_paths import PATHS
from host.drill.stalls import conducted_us
from host.shim.dark import Dark
from host.shim.port import Port
from host.shim.simfs import MODELS, PowerCut, SimFS

if TYPE_CHECKING:
    from host.simulator.cook import Cook
    from host.simulator.rehearsal import Rehearsal

NAMES = ("settings", "latch", "session", "counters", "commission", "plan", "night", "breads0", "stone")
START_S = 8.0  # the grace window and some
TICKS = {"evening": 11_000, "learning": 12_000, "commissioning": 40_000}  # about; of the seeds that were tried
RELEASE_S = 0.12  # of relay and contactor
AGAIN = 0.25
OF_WRITES = 0.6  # of the ticks that write something
AT_MOST = 60  # at plain ticks of one path: then the same path on another oven
SHARES = {"evening": 0.5, "learning": 0.2, "commissioning": 0.3}  # of the cases


@dataclass
class Outcome:
    """What came of one cut; times in s."""

    path: str
    at_s: float
    stage: str
    kind: str  # "tick", or the model of the medium that was cut in a write
    name: str = ""  # what was being written
    session: bool = False  # heat was allowed to come
    trip: str = ""  # after the restart
    heat_s: float = 0.0  # for so long an element conducted after the cut
    lost_breads: int = 0  # finished ones, known before the cut and not after it
    failed: str = ""

    def plain(self) -> dict[str, Any]:
        """As a dict for JSON."""
        return asdict(self)


class Cutter:
    """In the cook's place: looks on after every tick, and tries what a cut would do."""

    def __init__(self, path: str, draw: random.Random, share: float, cook: Cook | None) -> None:
        self.path, self.draw, self.share, self.cook = path, draw, share, cook
        self.files: dict[str, bytes] = {}
        self.units = -1
        self.found: list[Outcome] = []

    def act(self, made: Rehearsal) -> None:
        """After a turn of the board's life."""
        if self.cook is not None:
            self.cook.act(made)
        fs = made.board.fs  # type: ignore[union-attr]  # in this process
        if made.board.mode != "run":
            self.units = -1
            return
        written = self.units >= 0 and fs.units != self.units
        if self.draw.random() < (OF_WRITES if written else self.share):
            self._cut(made, dict(self.files) if written else None)
        if written or self.units < 0:
            self.files = dict(fs.files)
        self.units = fs.units

    def _cut(self, made, before):
        """In a forked copy of this process: it is told what came of it."""
        source, sink = os.pipe()
        seed = self.draw.random()
        pid = os.fork()
        if not pid:
            made.cook = None
            try:
                told = cut(made, self.path, random.Random(seed), before).plain()
            except BaseException as error:
                told = Outcome(self.path, made.now_s, made.stage, "tick", failed=f"the simulation: {error!r}").plain()
            os.write(sink, json.dumps(told).encode())
            os._exit(0)
        os.close(sink)
        with os.fdopen(source, "rb") as pipe:
            self.found.append(Outcome(**json.loads(pipe.read())))
        os.waitpid(pid, 0)


def store_on(made: Rehearsal, fs: SimFS) -> Any:
    """(World, Port, Store) of the device on a medium beside the board."""
    port = Port(Dark(), "rp2040", made.pins, fs)
    with made.world.running(port):
        return port, made.world.load("tizzone.memory.store").Store()


def kept(made: Rehearsal, files: dict[str, bytes]) -> dict[str, Any]:
    """What a medium with these files holds, by name; None where nothing can be read."""
    fs = SimFS()
    fs.files = dict(files)
    port, store = store_on(made, fs)
    with made.world.running(port):
        return {name: store.load(name)[0] for name in NAMES}


def cut(made: Rehearsal, path: str, draw: random.Random, before: dict[str, bytes] | None) -> Outcome:
    """Cut a board (it is used up): an Outcome. `before`: the files at the tick's begin, to be cut within its write."""
    app = made.board.life.app  # type: ignore[union-attr]
    fs = made.board.fs  # type: ignore[union-attr]
    outcome = Outcome(path, round(made.now_s, 2), made.stage, "tick")
    outcome.session = bool(app.sequence.session)
    new = kept(made, fs.files)
    old = new if before is None else kept(made, before)
    if before is not None:
        outcome.kind = draw.choice(MODELS)
        outcome.name = in_flight(made, before, draw, outcome.kind)
    known = {"breads": baked(app), "trip": made.trip, "sure": not app.supervisor.latch_changed, "marked": _open(old)}
    conducted = conducted_us(made)
    outside = made.outside
    saved = noted(app.memory.store)
    if before is None:
        made.advance(draw.choice((0.0, 0.25)))
        outside.at(outside.now_us + draw.randrange(240_000), outside, "cut_power", draw.uniform(0.05, 5.0))
        made.advance(0.5)
    else:
        outside.cut_power(draw.uniform(0.05, 5.0))
        made.advance(0.1)
    _judge_medium(made, outcome, old, new, saved)
    made.advance(5.0)
    if draw.random() < AGAIN:
        outside.cut_power(draw.uniform(0.05, 1.0))
        made.advance(draw.uniform(0.0, 4.0))
        outside.cut_power(draw.uniform(0.05, 1.0))
    made.advance(START_S)
    _judge_board(made, outcome, known, conducted)
    return outcome


def noted(store: Any) -> list[tuple[str, Any]]:
    """[(name, value)] of whatever this store is asked to keep from now on: the ticks before the cut may write too."""
    saved: list[tuple[str, Any]] = []
    save = store.save

    def keep(name: str, value: Any) -> None:
        saved.append((name, json.loads(json.dumps(value))))
        save(name, value)

    store.save = keep
    return saved


def _open(held):
    """Does the flash say that an evening is on? The mark goes there before any heat."""
    return bool(held["session"] and held["session"].get("open"))


def in_flight(made: Rehearsal, before: dict[str, bytes], draw: random.Random, model: str) -> str:
    """Leave on the board's medium what a cut in the middle of this tick's newest write leaves; the name written."""
    fs = made.board.fs  # type: ignore[union-attr]
    changed = sorted({path.rpartition(".")[0] for path in fs.files if fs.files[path] != before.get(path)} & {*NAMES})
    if not changed:
        return ""  # a line of the event log
    name = draw.choice(changed)
    value = kept(made, fs.files)[name]
    units = _written(made, before, name, value, SimFS())
    medium = SimFS(seed=draw.randrange(1 << 20))
    medium.cut_after(draw.randrange(units), model)
    _written(made, before, name, value, medium)
    fs.files = medium.files
    return name


def _written(made, before, name, value, fs):
    """Units that writing a value takes; on a medium that is cut meanwhile: up to there."""
    fs.files = dict(before)
    port, store = store_on(made, fs)
    fs.units = 0 if fs._cut_at is None else fs.units
    with made.world.running(port):
        try:
            store.save(name, value)
        except PowerCut:
            pass
    return fs.units


def baked(app: Any) -> list[tuple[int, int]]:
    """(when laid, how long baked) of each finished bread that the board knows."""
    from_book = app.evening.breads
    rows = [(from_book.get(n, 0), from_book.get(n, 3)) for n in range(from_book.count)]
    return [row for row in rows if row[1]]


def _judge_medium(made, outcome, old, new, saved):
    found = kept(made, made.board.fs.files)
    for name in NAMES:
        if found[name] not in (old[name], new[name]) and (name, found[name]) not in saved:
            outcome.failed = outcome.failed or f"{name} is neither what it was nor what was being written"


def _judge_board(made, outcome, known, conducted):
    def fail(text):
        outcome.failed = outcome.failed or text

    after = conducted_us(made)
    outcome.heat_s = max((b - a for a, b in zip(conducted, after, strict=True)), default=0) / 1e6
    if outcome.heat_s > 0.5 + RELEASE_S:  # up to two ticks until the cut, and the relays' own time
        fail(f"heat for {outcome.heat_s:.2f} s")
    outcome.trip = made.trip
    if made.board.mode != "run" or made.state not in ("idle", "aborted"):
        fail(f"the board is {made.board.mode}, {made.state}")
        return
    unsure = outcome.name in ("latch", "session")  # what was being written itself: either is right
    if known["marked"] and outcome.session and made.trip == "none":
        fail("an evening was cut, and nothing says so")
    if known["trip"] not in ("none", made.trip, "") and known["sure"] and made.trip != "latch-doubt":
        fail(f"{known['trip']} became {made.trip}")
    idle = not outcome.session and not known["marked"] and known["trip"] == "none" and known["sure"]
    if idle and not unsure and made.trip != "none":
        fail(f"nothing was on, but {made.trip}")
    breads = baked(made.board.life.app)
    lost = [row for row in known["breads"] if row not in breads]
    outcome.lost_breads = len(lost)
    if len(lost) > 1 or (lost and lost[0] != known["breads"][-1]):
        fail(f"{len(lost)} finished breads are gone")
    made.send("acknowledge")
    made.advance(3.0)
    if conducted_us(made) != after or made.state not in ("idle", "aborted"):
        fail("heat or an evening without a start")


def campaign(count: int, seed: int = 1, paths: tuple[str, ...] = tuple(PATHS)) -> Iterator[Outcome]:
    """At least `count` cuts: each path again, on another oven, until its part of them is done."""
    for path in paths:
        wanted = max(1, round(count * SHARES[path] / sum(SHARES[name] for name in paths)))
        done = 0
        number = 0
        while done < wanted:
            draw = random.Random(f"cuts {seed} {path} {number}")
            share = min(AT_MOST, max(1.0, (wanted - done) * 0.5)) / TICKS[path]
            watcher = Cutter(path, draw, share, None)

            def watch(cook: Any, watcher: Cutter = watcher) -> Cutter:
                watcher.cook = cook
                return watcher

            PATHS[path](seed + number, watch)
            yield from watcher.found
            done += len(watcher.found)
            number += 1
