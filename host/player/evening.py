"""An evening on the two boards, recorded like any run, and the same evening simulated, compared row by row.

What may differ, and by how much (house): the board's clock against the laptop's, the phase of a tick against a step of
the oven, a status that is up to a second old, codes of 0.25 K. So a reading is compared with the simulated readings of
LATE_S around it, and heat by the shares of whole minutes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from host.oven.base import Plant
from host.player import PlayerError
from host.player.bench import ROW_NAMES, Bench
from host.runs.recording import RunWriter
from host.shim.loader import world
from host.simulator.cook import Cook
from host.simulator.rehearsal import Rehearsal

LATE_S = 4.0  # a turn, a status of a second, a tick, and what start and door differ by
READING_K = 1.5  # noise of the probe (0.08 K) and air, two codes, the slope of a second
SHARE = 0.12  # of a minute's heat: a window that ends a few seconds later
MINUTE_S = 60.0
LONGEST_S = 6 * 3600.0
OVER = ("complete", "stopped", "aborted", "idle")


@dataclass(frozen=True)
class Apart:
    """How far two evenings were apart: rows compared, the largest difference of a reading (K) and of a minute's heat,
    and the rows beyond the bounds."""

    rows: int
    reading_k: float
    heat_share: float
    beyond: int

    @property
    def is_within(self) -> bool:
        """Whether every row was within the bounds."""
        return self.rows > 0 and not self.beyond


def settings_of(bench: Bench) -> dict[str, float]:
    """The board's own settings, so that the simulated board has the same."""
    table = world().load("tizzone.memory.settings").TABLE
    found: dict[str, float] = {}
    for name, (default, low, *_) in table.items():
        if low is None:
            continue
        reply = bench.send(f"setting {name}")
        text = reply.partition("=")[2].partition(" ")[0]
        if not reply.startswith("ok") or not text:
            raise PlayerError(f"the board does not tell its setting {name}: {reply or 'no reply'}")
        found[name] = float(text) if isinstance(default, float) else int(float(text))
    return found


def bake(oven: Any, breads: int, bake_s: float, each_minute: Callable[[], Any] = lambda: None) -> str:
    """An evening of so many breads on a Bench or a Rehearsal, from `start` to the end of its heat; how it ended."""
    oven.cook = Cook(bake_s)
    reply = oven.send("start").lstrip("~")
    if not reply.startswith("ok"):
        raise PlayerError(f"the board refuses to start: {reply or 'no reply'}")
    begun_s = oven.now_s
    has_run = is_told = False
    while oven.now_s < begun_s + LONGEST_S:
        oven.advance(1.0)
        each_minute()
        has_run = has_run or oven.state == "running"
        if has_run and oven.state in OVER:
            break
        if oven.cook.out >= breads and oven.stage == "load" and not is_told:
            oven.cook.load_at_s = None
            is_told = oven.send("stop") != ""
    oven.cook = None
    return oven.state


def record(bench: Bench, writer: RunWriter, breads: int, bake_s: float) -> str:
    """The evening on the two boards, every row and event written as it comes."""
    written = [len(bench.rows), len(bench.events)]

    def keep() -> None:
        for row in bench.rows[written[0] :]:
            writer.row(row)
        for event in bench.events[written[1] :]:
            writer.event(event)
        written[:] = [len(bench.rows), len(bench.events)]

    try:
        return bake(bench, breads, bake_s, keep)
    finally:
        keep()


def simulated(board: str, plant: Plant, settings: dict[str, float], breads: int, seed: int = 1) -> Rehearsal:
    """The same evening in simulation, over: its rows are wanted."""
    with Rehearsal(plant=plant, board=board, settings=settings, seed=seed, cook=None) as made:
        made.advance(6.0)
        bake(made, breads, settings["bake_s"])
    return made


def columns(rows: Any, names: Sequence[str] = ROW_NAMES) -> dict[str, np.ndarray]:
    """Columns of rows (dicts or a structured array) from the first running row on; t_s from there."""
    found = {name: np.array([row[name] for row in rows]) for name in names}
    running = np.flatnonzero(found["state"] == "running")
    if not len(running):
        raise PlayerError("no evening in these rows: the board never ran")
    found = {name: values[running[0] :] for name, values in found.items()}
    return {**found, "t_s": found["t_s"] - found["t_s"][0]}


def apart(bench_rows: Any, simulated_rows: Any) -> Apart:
    """Compare two evenings row by row while both run."""
    ours, theirs = columns(bench_rows), columns(simulated_rows)
    worst, beyond, count = 0.0, 0, 0
    last_s = min(ours["t_s"][ours["state"] == "running"][-1], theirs["t_s"][theirs["state"] == "running"][-1])
    for t_s, pv_c in zip(ours["t_s"], ours["pv_c"], strict=True):
        if t_s > last_s or not np.isfinite(pv_c):
            continue
        near = theirs["pv_c"][np.abs(theirs["t_s"] - t_s) <= LATE_S]
        off_k = max(0.0, near.min() - pv_c, pv_c - near.max())
        worst, count, beyond = max(worst, off_k), count + 1, beyond + (off_k > READING_K)
    share = 0.0
    for begin_s in np.arange(0.0, last_s - MINUTE_S, MINUTE_S):
        for name in ("heat_top", "heat_deck"):
            means = [
                side[name][(side["t_s"] >= begin_s) & (side["t_s"] < begin_s + MINUTE_S)].mean()
                for side in (ours, theirs)
            ]
            off = abs(means[0] - means[1])
            share, beyond = max(share, off), beyond + (off > SHARE)
    return Apart(count, round(float(worst), 2), round(float(share), 3), int(beyond))
