"""The simulated cook: stays with the oven, lays a bread when one is due, and tells the device."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    from host.simulator.rehearsal import Rehearsal

LOAD_AFTER_S = 6.0  # from the device's word to the open door
DOOR_S = 8.0
PRESENT_EVERY_S = 300.0
SPOT_DOOR_S = 4.0
SPOT_SIGMA_K = 3.0  # of a hand-held thermometer with the right emissivity
SPOT_AFTER_S = 6.0  # after the first bread is out, and the door still open
LONGEST_BAKE_S = 36_000.0  # a bread that lies until it is taken
ASK_AFTER_S = 60.0  # for the record of a bread: the stone is at its lowest soon after it
SPOT_WARM_C = 250.0  # the first spot: the dome passes this on its way up


class AtTheOven(Protocol):
    """Somebody at a rehearsed oven."""

    def act(self, rehearsal: Rehearsal) -> None:
        """Do what is due; called after every turn of the board's life."""


class Cook:
    """`act(rehearsal)` after every step; acts through the oven's door and the device's link alone.

    `plan`: a BakePlan whose bake times to follow. `verdicts`: what to say of each bread, "TOP BASE", in
    turn (None: nothing); the record of each bread is then asked for. `acts`: {breads done: (line, seconds)}: say the
    line ("hold", "rest") before that bread is laid, `resume` after the seconds. `spots`: take four spot readings."""

    def __init__(
        self,
        bake_s: float = 90.0,
        water_g: float = 25.0,
        plan: Any = None,
        verdicts: Any = None,
        acts: Any = None,
        spots: bool = False,
    ) -> None:
        self.bake_s = bake_s
        self.water_g = water_g
        self.load_at_s: float | None = None
        self.present_at_s = 0.0
        self.breads = 0
        self.out = 0  # breads taken out
        self.verdicts = verdicts
        self.acts = dict(acts or {})
        self.resume_at_s: float | None = None
        self._bake_s = [leg["bake_s"] for leg in plan.legs for _ in range(leg["breads"])] if plan else []
        self._by_heat = bool(plan) and any(leg["base_kj"] for leg in plan.legs)  # the bread lies as long as it is told
        self._stage = ""
        self._spots = ["warm", "arrived", "bare", "fifth"] if spots else []
        self._random = random.Random(5)
        self._bare_at_s: float | None = None
        self._ask_at_s: float | None = None

    def act(self, rehearsal: Rehearsal) -> None:
        """Read the panel and do what is due."""
        state, stage, now_s = rehearsal.state, rehearsal.stage, rehearsal.now_s
        if stage != self._stage:
            if self._stage == "bake":
                self._take_out(rehearsal, now_s)
            self.load_at_s = now_s + LOAD_AFTER_S if stage == "load" else None
            self._stage = stage
        if self._ask_at_s is not None and (now_s >= self._ask_at_s or stage == "load"):
            self._ask_at_s = None
            rehearsal.say("bread")
        if state not in ("running", "held"):
            self.present_at_s = now_s + PRESENT_EVERY_S
            self.resume_at_s = None
            return
        if now_s >= self.present_at_s:
            self.present_at_s = now_s + PRESENT_EVERY_S
            rehearsal.say("present")
        if self.resume_at_s is not None and now_s >= self.resume_at_s:
            self.resume_at_s = None
            rehearsal.say("resume")
        if self._spots:
            self._look_at_stone(rehearsal, stage, now_s)
        if self.load_at_s is not None and now_s >= self.load_at_s and stage == "load":
            self.load_at_s = None
            if self.out in self.acts:
                line, seconds = self.acts.pop(self.out)
                self.resume_at_s = now_s + seconds
                rehearsal.say(line)
                return
            self._lay(rehearsal)

    def _lay(self, rehearsal):
        bake_s = self._bake_s[min(self.out, len(self._bake_s) - 1)] if self._bake_s else self.bake_s
        if self._spots and self._spots[0] == "fifth" and self.out >= 4:
            self._spot(rehearsal)
        self.breads += 1
        rehearsal.outside.door(DOOR_S)
        rehearsal.outside.load(LONGEST_BAKE_S if self._by_heat else bake_s, self.water_g)
        rehearsal.say("loaded")

    def _take_out(self, rehearsal, now_s):
        rehearsal.outside.door(DOOR_S)
        if self._by_heat:
            rehearsal.plant.event("unload")
        self.out += 1
        self._bare_at_s = now_s + SPOT_AFTER_S
        if self.verdicts is not None and rehearsal.state in ("running", "held", "complete"):
            if self.verdicts:
                rehearsal.say("verdict " + self.verdicts[(self.out - 1) % len(self.verdicts)])
            self._ask_at_s = now_s + ASK_AFTER_S

    def _look_at_stone(self, rehearsal, stage, now_s):
        first = self._spots[0]
        warm = first == "warm" and stage == "preheat" and rehearsal.plant.temperature_c("dome") >= SPOT_WARM_C
        arrived = first == "arrived" and stage == "soak"
        bare = first == "bare" and self._bare_at_s is not None and now_s >= self._bare_at_s and stage != "bake"
        if warm or arrived or bare:
            rehearsal.outside.door(SPOT_DOOR_S)
            self._spot(rehearsal)

    def _spot(self, rehearsal):
        """Point the thermometer at the bare stone and type what it shows."""
        self._spots.pop(0)
        seen_c = rehearsal.outside.true_c("stone") + self._random.gauss(0.0, SPOT_SIGMA_K)
        rehearsal.say(f"spot {seen_c:.0f}")
