"""The board's evening on a simulated oven without the board around it: its own Evening, Sequence, Pid, Stone and what
they load, at two ticks a second, under a cook who does as told. Several times as fast as a rehearsal.

What is left out: link, supervisor, relays' windows (the shares conduct evenly), contactor, flash. The door cuts the
heat, as with a door contact. The probe reads the plant's tip with noise of 0.2 K, codes of 0.25 K, median of three.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

from host.oven.base import Plant
from host.oven.bread_heat import BreadHeat
from host.shim.loader import world
from host.shim.port import Port

TICK_MS = 500
LOAD_AFTER_S, DOOR_S, SPOT_DOOR_S, SPOT_AFTER_S = 6.0, 8.0, 4.0, 6.0  # host/simulator/cook.py
SPOT_SIGMA_K = 3.0
LONGEST_S = 6 * 3600.0
CEILING_MC = 480_000


class _Nothing:
    """Outside of a board whose pins nobody looks at."""

    rx = bytearray()
    orders = ()
    host_reading = True

    def advance(self, dt_us: int, levels: Any, rose: int = 0) -> None:
        """Time passes without this loop."""

    def level(self, number: int) -> None:
        """Nothing holds a pin."""
        return


class _Probe:
    """One probe as its conditioner shows it."""

    def __init__(self, plant, place, seed):
        self.plant, self.place = plant, place
        self._random = random.Random(f"{place} {seed}")
        self._last = []
        self.usable = 1
        self.pv_mc = 0

    def read(self) -> None:
        """One tick."""
        seen_c = self.plant.temperature_c(self.place) + self._random.gauss(0.0, 0.2)
        self._last = [*self._last[-2:], round(seen_c / 0.25) * 250]
        self.pv_mc = sorted(self._last)[len(self._last) // 2]


def _app(w, plant, values, probe, seed):
    """What the evening asks of a board."""
    stone = {"stone": {"depth_mm": probe[0], "rim": probe[1]}} if probe else {}
    top, deck = (SimpleNamespace(on=0.0, switchings=0) for _ in range(2))
    return SimpleNamespace(
        board=SimpleNamespace(PROBES={"dome": {}, **stone}, MCU="rp2040"),
        memory=SimpleNamespace(store=SimpleNamespace(load=lambda name: (None, "missing")), failed=0),
        settings=values,
        supervisor=SimpleNamespace(
            ceiling_mc=CEILING_MC, armed=0, first_out=0, latch_changed=0, pull_the_plug=0,
            permit=SimpleNamespace(granted=1), own_writes=SimpleNamespace(stalls=0),
        ),
        heater=SimpleNamespace(top=top, deck=deck, contactor_switchings=0, contactor_on=0),
        dome=_Probe(plant, "dome", seed),
        stone=_Probe(plant, "stone", seed) if probe else None,
        release_reason="",
        top_share_pct=values["top_share_pct"],
        out_pm=0,
        pid=w.load("tizzone.control.pid").Pid(window_s=20.0, adapt=True),
    )  # fmt: skip


class Board:
    """`run()` bakes the plan; `breads`: what the plant says of each (host.oven.bread_heat).

    `plan`: as the board keeps it. `probe`: None, or (depth in mm, 1 at the rim) of a stone probe. `spots`: the cook
    takes four. `settings`: other than the defaults. `cook`: prompt, or uneven (5 to 90 s after the word, and ten
    minutes' pause before the seventh). `acts`: {breads laid: function(board)} called before that bread is laid.
    """

    def __init__(
        self,
        plant: Plant,
        plan: dict[str, Any],
        probe: tuple[float, int] | None = None,
        spots: bool = False,
        seed: int = 0,
        settings: dict[str, Any] | None = None,
        acts: dict[int, Callable[[Board], None]] | None = None,
        cook: str = "prompt",
    ) -> None:
        w = world()
        self.plant, self.acts = plant, dict(acts or {})
        self.S = w.load("tizzone.evening.sequence")
        values = w.load("tizzone.memory.settings").defaults() | (settings or {})
        self.app = app = _app(w, plant, values, probe, seed)
        app.sequence = w.load("tizzone.evening.plan_in_force").sequence_of(values, CEILING_MC)
        with w.running(Port(_Nothing(), "rp2040", SimpleNamespace(MCU="rp2040"))):
            app.evening = w.load("tizzone.evening.evening").Evening(app)
        if not app.evening.plan.use(app, plan):
            raise ValueError("the board does not take the plan")
        self.time_s = 0.0
        self._flow = None
        self._due_s = None
        self._spots = ["warm", "arrived", "bare", "fifth"] if spots else []
        self._random = random.Random(5)
        self._late = random.Random(f"cook {seed}") if cook == "uneven" else None
        self._stage = 0
        self._bare_s = None
        self.told = []  # of each bread, the board's estimate: base_kj, top_kj, and `fixed`
        self.ready_s = []  # from a bread's end to 'lay the next'

    @property
    def breads(self) -> list[BreadHeat]:
        """What the plant says of each bread that is out."""
        return [each for each in self.plant.baked if each.out_s is not None]

    def run(self) -> Board:
        """The evening, to its last bread; returns self."""
        app, seq = self.app, self.app.sequence
        app.evening.start(app, False)
        while seq.session and self.time_s < LONGEST_S:
            self.tick()
        return self

    def tick(self) -> None:
        """Half a second: the cook, the board, the oven."""
        app, plant = self.app, self.plant
        seq, dt_s = app.sequence, TICK_MS / 1000
        app.dome.read()
        if app.stone:
            app.stone.read()
        shut = not plant.door_open
        app.supervisor.permit.granted = 1 if shut else 0
        seq.step(app.dome.pv_mc, 1, 0, 0, 0, TICK_MS)
        app.out_pm = 0
        out_pct = app.pid.update(seq.setpoint_mc * 0.001, app.dome.pv_mc * 0.001, dt_s, heating=shut)
        out = out_pct / 50.0 / 100.0 if shut and seq.active else 0.0
        app.out_pm = int(out_pct * 10) if shut else 0
        app.heater.top.on = min(1.0, out * app.top_share_pct)
        app.heater.deck.on = min(1.0, out * (100 - app.top_share_pct))
        self._flow = app.evening.flow or self._flow  # it ends with the evening
        app.evening.tick(app, TICK_MS)
        self._cook()
        plant.step(dt_s, {"top": app.heater.top.on, "deck": app.heater.deck.on})
        self.time_s += dt_s

    def _cook(self):
        seq, S, now_s = self.app.sequence, self.S, self.time_s
        if seq.stage != self._stage:
            if self._stage == S.BAKE:
                self.plant.event("door", seconds=DOOR_S)
                self.plant.event("unload")
                self._bare_s = now_s + SPOT_AFTER_S
                flow = self._flow
                if flow:
                    self.told.append({"base_kj": flow.heat.base_kj, "top_kj": flow.heat.top_kj, "fixed": flow.fixed})
                self._out_s = now_s
            if seq.stage == S.LOAD:
                self._due_s = now_s + self._dawdles_s()
                if self.plant.baked:
                    self.ready_s.append(now_s - self._out_s)
            self._stage = seq.stage
        if self._spots:
            self._look(seq, now_s)
        if seq.stage == S.LOAD and now_s >= self._due_s:
            laid = len(self.plant.baked)
            if laid in self.acts:
                self.acts.pop(laid)(self)
                if seq.stage != S.LOAD:
                    return
            if self._spots and self._spots[0] == "fifth" and laid >= 4:
                self._spot()
            self.plant.event("door", seconds=DOOR_S)
            self.plant.event("load", bake_s=3000.0, water_g=25.0)
            seq.loaded()

    def _dawdles_s(self):
        """From the word to the open door."""
        if self._late is None:
            return LOAD_AFTER_S
        return self._late.uniform(5.0, 90.0) + (600.0 if len(self.plant.baked) == 6 else 0.0)

    def _look(self, seq, now_s):
        first, S = self._spots[0], self.S
        warm = first == "warm" and seq.stage == S.PREHEAT and self.plant.temperature_c("dome") >= 250.0
        arrived = first == "arrived" and seq.stage == S.SOAK
        bare = first == "bare" and self._bare_s is not None and now_s >= self._bare_s and seq.stage != S.BAKE
        if warm or arrived or bare:
            self.plant.event("door", seconds=SPOT_DOOR_S)
            self._spot()

    def _spot(self):
        self._spots.pop(0)
        self.app.evening.stone.spot(self.plant.true_c("stone") + self._random.gauss(0.0, SPOT_SIGMA_K))


def figures(board: Board) -> dict[str, Any]:
    """{base, top: highest / lowest of breads 2..; pace_s: from bread to bread; base_kj, top_kj: median; first: of the
    first bread's base against that; bake_s: of each}."""
    breads = board.breads[1:]
    base, top = ([getattr(each, key) for each in breads] for key in ("base_kj_m2", "top_kj_m2"))
    gaps = [two.laid_s - one.laid_s for one, two in zip(board.breads, board.breads[1:], strict=False)]
    middle = sorted(base)[len(base) // 2]
    return {
        "base": max(base) / min(base),
        "top": max(top) / min(top),
        "base_kj": middle,
        "top_kj": sorted(top)[len(top) // 2],
        "pace_s": sum(gaps) / len(gaps),
        "first": board.breads[0].base_kj_m2 / middle,
        "bake_s": [round((each.out_s or 0.0) - each.laid_s) for each in board.breads],
    }
