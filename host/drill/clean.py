"""Clean evenings: nothing is broken, everybody is clumsy, and nothing may trip.

    for outcome in evenings(range(500)): ...      dicts, see `run_evening`
    bound_pct(0, 500)                             what no trip in so many proves

Each evening has an oven of its own (three structures in turn, three sizes of probe), its own mains, room, noise and
wiring, and a cook who leaves doors open, turns breads in mid-bake, lays the next one too soon, forgets to tell, lowers
the setpoint and goes back up.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING, Any

from host import oven
from host.drill import warm
from host.drill.margins import UNITS, Margins, least

if TYPE_CHECKING:
    from host.simulator.rehearsal import Rehearsal


LONGEST_S = 9000.0
CONFIDENCE = 0.95
DOOR_MOST_S = 60.0  # no opening is longer than this ...
SWING_S = 5.0  # ... and a door that was shut for less has not been shut


class RoughCook:
    """`act(rehearsal)` after every step, as host.simulator.cook.Cook; everything is drawn from one seed."""

    def __init__(self, draw: random.Random, setpoint_c: float, breads: int, bake_s: int) -> None:
        self.draw = draw
        self.setpoint_c = setpoint_c
        self.breads = breads
        self.bake_s = bake_s
        self.done = 0
        self.todo = []  # (at_s, act, argument), kept in order
        self.present_at_s = 0.0
        self.laid = False
        self.over = False
        self.margins = Margins()  # of the rules, every tick
        self._stage = ""
        self._opened_s = self._shut_s = -1000.0  # the newest opening of the door

    def act(self, rehearsal: Rehearsal) -> None:
        """Do what is due."""
        now_s = rehearsal.now_s
        self.margins.judge(rehearsal)
        if rehearsal.state not in ("running", "held"):
            return
        if now_s >= self.present_at_s:
            self.present_at_s = now_s + 240.0
            rehearsal.say("present")
        if rehearsal.stage != self._stage:
            self._stage = rehearsal.stage
            if self._stage == "load" and not self.laid and self.done < self.breads:
                self.do_later(now_s + self.draw.uniform(3.0, 20.0), "lay", 0)
        while self.todo and self.todo[0][0] <= now_s:
            _, act, argument = self.todo.pop(0)
            getattr(self, act)(rehearsal, argument)

    def do_later(self, at_s: float, act: str, argument: Any = 0) -> None:
        """Something to do later."""
        self.todo.append((at_s, act, argument))
        self.todo.sort(key=lambda entry: entry[0])

    def door(self, rehearsal: Rehearsal, seconds: float) -> None:
        """Open the door; once in a while again and again."""
        now_s = rehearsal.now_s
        if now_s > self._shut_s + SWING_S:
            self._opened_s = now_s
        until_s = min(now_s + seconds, self._opened_s + DOOR_MOST_S)
        if until_s > max(now_s, self._shut_s):
            self._shut_s = until_s
            rehearsal.outside.door(until_s - now_s)

    def doors(self, rehearsal: Rehearsal, times: int) -> None:
        """The door opened repeatedly, up to a minute each."""
        at_s = rehearsal.now_s
        for _ in range(times):
            seconds = self.draw.uniform(5.0, 60.0)
            self.do_later(at_s, "door", seconds)
            at_s += seconds + self.draw.uniform(5.0, 30.0)

    def lay(self, rehearsal: Rehearsal, _: object) -> None:
        """A bread goes in."""
        if self.laid or self.done >= self.breads:
            return
        self.laid = True
        now_s, draw = rehearsal.now_s, self.draw
        self.door(rehearsal, draw.uniform(6.0, 20.0))
        rehearsal.outside.load(self.bake_s, draw.uniform(10.0, 40.0))
        if draw.random() < 0.9:
            rehearsal.say("loaded")
        if draw.random() < 0.6:
            self.do_later(now_s + self.bake_s * draw.uniform(0.4, 0.6), "door", draw.uniform(5.0, 15.0))
        self.do_later(now_s + self.bake_s + draw.uniform(0.0, 10.0), "take")

    def take(self, rehearsal: Rehearsal, _: object) -> None:
        """The bread comes out; often the next follows within 20 s."""
        self.laid = False
        self.done += 1
        draw, now_s = self.draw, rehearsal.now_s
        self.door(rehearsal, draw.uniform(5.0, 20.0))
        rehearsal.plant.event("unload")
        if self.done >= self.breads:
            self.do_later(now_s + draw.uniform(30.0, 300.0), "end")
        elif draw.random() < 0.6:
            self.do_later(now_s + 20.0, "lay")
        elif rehearsal.stage == "load":  # the device never heard of this bread
            self.do_later(now_s + 60.0, "lay")
        if draw.random() < 0.25:
            self.do_later(now_s + draw.uniform(20.0, 60.0), "doors", draw.randint(1, 3))
        if draw.random() < 0.2:
            self.do_later(now_s + 5.0, "lower", draw.choice((300, 350, 260)))
        if draw.random() < 0.1:
            self.do_later(now_s + 5.0, "pause", draw.uniform(10.0, 120.0))

    def lower(self, rehearsal: Rehearsal, setpoint_c: int) -> None:
        """Less heat for a while: another kind of bread."""
        if setpoint_c >= self.setpoint_c:
            return
        rehearsal.say(f"setpoint {setpoint_c}")
        self.do_later(rehearsal.now_s + self.draw.uniform(120.0, 600.0), "raise_again")

    def raise_again(self, rehearsal: Rehearsal, _: object) -> None:
        """Back to the evening's setpoint."""
        rehearsal.say(f"setpoint {self.setpoint_c}")

    def pause(self, rehearsal: Rehearsal, seconds: float) -> None:
        """Hold, then resume."""
        rehearsal.say("hold")
        self.do_later(rehearsal.now_s + seconds, "resume")

    def resume(self, rehearsal: Rehearsal, _: object) -> None:
        """Go on."""
        rehearsal.say("resume")

    def mains(self, rehearsal: Rehearsal, ratio: float) -> None:
        """The mains changes."""
        rehearsal.outside.mains(ratio)

    def end(self, rehearsal: Rehearsal, _: object) -> None:
        """Enough for tonight."""
        rehearsal.say("stop")
        self.over = True


def drawn(seed: int, device: Path | str | None = None) -> tuple[Rehearsal, RoughCook, str]:
    """(Rehearsal, RoughCook, words) of one clean evening."""
    draw = random.Random(f"clean {seed}")
    changes = {"ambient_c": draw.uniform(5.0, 35.0)}
    kind, make = (("random", oven.sample), ("other", oven.other), ("third", oven.third))[seed % 3]
    changes["dome_probe_mm"] = (1.5, 3.0, 4.5)[seed // 3 % 3]
    plant = make(seed, **changes)
    if draw.random() < 0.3:  # worn elements
        for name in ("top_w", "deck_w"):
            changes[name] = getattr(plant.parameters, name) * draw.uniform(0.88, 1.0)
        plant = make(seed, **changes)
    setpoint_c = draw.choices((450, 480, 400, 260, 120, 60), (58, 14, 10, 8, 5, 5))[0]
    bake_s = draw.randint(60, 120)
    wiring = draw.choice(("full", "plain", "doorless"))
    made = warm.rehearsal("", wiring, {"setpoint_c": setpoint_c, "bake_s": bake_s}, hot=plant, device=device,
                               soak_min=draw.choice((0, 1, 4)))  # fmt: skip
    for chip in made.outside.probe_chips.values():
        chip.noise_k = draw.uniform(0.05, 0.5)
    ratio = draw.uniform(0.90, 1.06)
    made.outside.mains(ratio)
    cook = RoughCook(draw, setpoint_c, draw.randint(3, 5), bake_s)
    made.cook = cook
    for _ in range(draw.randint(0, 2)):  # a look into the oven while it heats
        cook.do_later(draw.uniform(60.0, 2400.0), "doors", draw.randint(1, 2))
    cook.do_later(draw.uniform(600.0, 4000.0), "mains", min(1.06, max(0.90, ratio + draw.uniform(-0.05, 0.05))))
    kind += f" {changes['dome_probe_mm']} mm"
    return made, cook, f"{kind} {wiring} {setpoint_c} °C mains {ratio:.2f}"


def run_evening(seed: int, device: Path | str | None = None) -> dict[str, Any]:
    """One clean evening: {seed, words, end, t_s, trips, warnings, margins}; `trips` must be empty."""
    made, cook, words = drawn(seed, device)
    made.advance(6.0)
    reply = made.send("start")
    margins = cook.margins
    while not cook.over and made.now_s < LONGEST_S and made.trip in ("none", "") and made.state != "aborted":
        made.advance(2.0)
    ended = "done" if cook.over else f"not finished: {made.state} {made.stage}"
    if made.now_s >= LONGEST_S and not cook.over and made.state in ("running", "held"):
        ended = f"given up in {made.stage}: the oven is too weak for its setpoint"
        made.send("stop")
    if not reply.startswith("~ok"):
        ended = f"not started: {reply}"
    made.advance(240.0)  # a rise without output would be seen now
    ordinary = ("none", "door-open")
    events = [e for e in made.events if e["kind"] in ("trip", "hold", "warn") and e["value"] not in ordinary]
    trips = [f"{e['value']} at {e['t_s']:.0f} s" for e in events if e["kind"] != "warn"]
    warnings = sorted({e["value"] for e in events if e["kind"] == "warn"})
    found = {"seed": seed, "words": words, "end": ended, "t_s": made.now_s, "breads": cook.done}
    return {**found, "trips": trips, "warnings": warnings, "margins": margins.rows()}


def evenings(seeds: Iterable[int], jobs: int = 2, device: Path | str | None = None) -> Iterator[dict[str, Any]]:
    """Outcomes of many evenings on `jobs` processes, as they are done."""
    seeds = list(seeds)
    if jobs <= 1:
        for seed in seeds:
            yield run_evening(seed, device)
        return
    with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as pool:
        for future in as_completed([pool.submit(run_evening, seed, device) for seed in seeds]):
            yield future.result()


def bound_pct(trips: int, count: int) -> float:
    """Upper bound of the share of evenings with a trip, %, at 95 % confidence (Clopper-Pearson, by bisection).

    Without a trip it is 1 - 0.05 ** (1 / n), about 3 / n (the rule of three)."""
    if count == 0:
        return 100.0
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        if _at_most(trips, count, middle) > 1 - CONFIDENCE:
            low = middle
        else:
            high = middle
    return 100.0 * high


def _at_most(trips, count, share):
    """Probability of at most `trips` in `count` with this share."""
    term = (1 - share) ** count
    total = term
    for k in range(1, trips + 1):
        term *= (count - k + 1) / k * share / (1 - share) if share < 1 else 0.0
        total += term
    return total


def summary(outcomes: list[dict[str, Any]]) -> dict[str, Any]:
    """{evenings, tripped, unfinished, bound_pct, margins: the worst of each} of many outcomes."""
    tripped = sum(1 for o in outcomes if o["trips"])
    unfinished = sum(1 for o in outcomes if o["end"].startswith("not ") and not o["trips"])
    return {
        "evenings": len(outcomes),
        "tripped": tripped,
        "unfinished": unfinished,
        "bound_pct": bound_pct(tripped, len(outcomes)),
        "margins": list(least([o["margins"] for o in outcomes]).values()),
    }


def text(found: dict[str, Any], outcomes: list[dict[str, Any]]) -> str:
    """The summary and every evening that was not clean, as text."""
    lines = []
    for outcome in sorted(outcomes, key=lambda o: o["seed"]):
        if outcome["trips"] or outcome["end"] != "done":
            told = "; ".join(outcome["trips"]) or outcome["end"]
            lines.append(f"seed {outcome['seed']} ({outcome['words']}): {told}")
    lines.append(f"{found['evenings']} clean evenings, {found['tripped']} tripped, {found['unfinished']} unfinished")
    lines.append(f"fewer than {found['bound_pct']:.2g} % of such evenings trip (95 % confidence)")
    lines.append("least distance to each rule, by setpoint:")
    rows = {(row["rule"], row["setpoint_c"]): row for row in found["margins"]}
    for rule in UNITS:
        for setpoint_c in sorted({each for _, each in rows}):
            row = rows.get((rule, setpoint_c))
            told = "did not judge there"
            if row:
                told = f"{row['value']:.1f} of {row['threshold']:.1f} {row['unit']}, {row['distance']:.1f} left"
            lines.append(f"  {rule:20}{setpoint_c:4} °C  {told}")
    return "\n".join(lines)
