"""The control loop alone: a plant, a probe, the device's own pid and heater, without the board around them.

For campaigns over many ovens, where the whole rehearsal would cost ten times as much. The probe is what the
device sees of a good one: the plant's tip, white noise, codes of 0.25 K, median of three.
"""

from __future__ import annotations

import random
import types
from typing import Any, Protocol

import numpy as np

from host.oven.base import Plant
from host.shim.loader import world
from host.shim.port import Port

TICK_S = 0.25
TICK_MS = 250
CODE_K = 0.25


class Controller(Protocol):
    """What turns a setpoint and a reading into an output."""

    def update(self, setpoint_c: float, pv_c: float, dt_s: float) -> float:
        """Output in per cent."""


class _Granted:
    """The permit of a loop that no supervisor looks after: heat is always allowed, in a simulation only."""

    granted = contactor = 1
    tripped = 0

    def __init__(self):
        self.serial = 0

    def renew(self):
        """As judged again in this tick."""
        self.serial = (self.serial + 1) & 0xFFFF


class _Nothing:
    """Outside of a board of which only the heat pins are used."""

    rx = bytearray()
    orders = ()
    host_reading = True

    def advance(self, dt_us, levels, rose=0):
        """Time passes without this loop."""

    def level(self, number):
        """Nothing holds a pin."""
        return


def heater(window_ms: int = 10_000, min_ms: int = 500, exclusive: int = 0) -> Any:
    """The device's Heater on a bare board with two zones."""
    w = world()
    board = types.SimpleNamespace(MCU="rp2040", HEAT_TOP=2, HEAT_DECK=3, CONTACTOR=4)
    with w.running(Port(_Nothing(), "rp2040", board)):
        return w.load("tizzone.board_io.heater").Heater(board, window_ms=window_ms, min_ms=min_ms, exclusive=exclusive)


def pid(*arguments: Any, **named: Any) -> Any:
    """The device's Pid."""
    return world().load("tizzone.control.pid").Pid(*arguments, **named)


class Probe:
    """A good probe at a place of the plant, one reading a tick; `read_c()` is what the device makes of them."""

    def __init__(self, plant: Plant, place: str, seed: int = 0, noise_k: float = 0.2) -> None:
        self.plant = plant
        self.place = place
        self._random = random.Random(f"probe {seed}" if place == "dome" else f"probe {place} {seed}")
        self._noise_k = noise_k
        self._last = []

    def read_c(self) -> float:
        """Noise, codes, median of three."""
        seen_c = self.plant.temperature_c(self.place) + self._random.gauss(0.0, self._noise_k)
        self._last.append(round(seen_c / CODE_K) * CODE_K)
        if len(self._last) > 3:
            del self._last[0]
        return sorted(self._last)[len(self._last) // 2]


class Loop:
    """One oven under one controller: `run(seconds)`; rows collect in `log`.

    `controller.update(setpoint_c, pv_c, dt_s) -> out_pct` is called every tick. `share_pct` is the top zone's share
    (50: both alike); `together` drives both zones alike by the top zone's pattern, as one relay for all would.
    """

    def __init__(
        self,
        plant: Plant,
        controller: Controller,
        setpoint_c: float = 450.0,
        window_ms: int = 10_000,
        min_ms: int = 500,
        seed: int = 0,
        noise_k: float = 0.2,
        share_pct: float = 50,
        exclusive: int = 0,
        together: bool = False,
    ) -> None:
        self.plant = plant
        self.controller = controller
        self.setpoint_c = setpoint_c
        self.share_pct = share_pct
        self.together = together
        self.heater = heater(window_ms, min_ms, exclusive)
        self._permit = _Granted()
        self._probe = Probe(plant, "dome", seed, noise_k)
        self.time_s = 0.0
        self.log = []

    def tick(self) -> tuple[float, float, float, float, int, int]:
        """One tick; returns (t_s, sheath_c, pv_c, out_pct, top, deck)."""
        plant = self.plant
        pv_c = self._probe.read_c()
        out_pct = self.controller.update(self.setpoint_c, pv_c, TICK_S)
        asked_pm = int(out_pct * 10.0 + 0.5)
        top_pm = min(1000, asked_pm * self.share_pct // 50)
        deck_pm = min(1000, asked_pm * (100 - self.share_pct) // 50)
        self._permit.renew()
        self.heater.drive(top_pm, deck_pm, self._permit, TICK_MS)
        top = self.heater.top.on
        deck = top if self.together else self.heater.deck.on
        row = (self.time_s, plant.temperature_c("dome"), pv_c, out_pct, top, deck)
        plant.step(TICK_S, {"top": float(top), "deck": float(deck)})
        self.time_s += TICK_S
        return row

    def run(self, seconds: float) -> np.ndarray:
        """Run for `seconds`; returns the rows of this stretch as an array of 6 columns."""
        begun = len(self.log)
        for _ in range(round(seconds / TICK_S)):
            self.log.append(self.tick())
        return np.array(self.log[begun:])
