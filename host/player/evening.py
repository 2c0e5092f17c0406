"""An evening on the two boards, recorded like any run, and the same evening simulated, compared row by row.

What may differ, and by how much (house): the board's clock against the laptop's, the phase of a tick against a step of
the oven, a status that is up to a second old, codes of 0.25 K. A small shift moves the moment at which a stage ends, so
the stages are laid beside each other one by one: each must be there, as long as the other but for STAGE_S and
STAGE_SHARE, and a reading is compared with the simulated readings of LATE_S around it, counted from the stage's
beginning; heat by its mean over the stage.
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
SHARE = 0.15  # of a stage's heat: a window of the output that ends a few seconds later
STAGE_S, STAGE_SHARE = 5.0, 0.2  # of a stage's length: how fast the heat comes back after a bread hangs on a second
SHORT_S = 4.0  # stages that a status each second may miss
LONGEST_S = 6 * 3600.0
OVER = ("complete", "stopped", "aborted", "idle")


@dataclass(frozen=True)
class Apart:
    """How far two evenings were apart: rows compared, the largest difference of a reading (K), of a stage's mean heat
    and of its length (s), and how much of it was beyond the bounds."""

    rows: int
    reading_k: float
    heat_share: float
    stage_s: float
    beyond: int

    @property
    def is_within(self) -> bool:
        """Whether everything was within the bounds."""
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
        if not reply.startswith(f"ok {name}=") or not text:
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


def stages(rows: dict[str, np.ndarray]) -> list[tuple[str, slice]]:
    """(stage, its rows) in order, from columns; the very short ones are left out, and what they parted is joined."""
    found: list[tuple[str, int, int]] = []
    names, t_s = rows["stage"], rows["t_s"]
    begin = 0
    for at in range(1, len(names) + 1):
        if at < len(names) and names[at] == names[begin]:
            continue
        if t_s[at - 1] - t_s[begin] >= SHORT_S:
            if found and found[-1][0] == names[begin]:
                found[-1] = (found[-1][0], found[-1][1], at)
            else:
                found.append((str(names[begin]), begin, at))
        begin = at
    return [(name, slice(first, last)) for name, first, last in found if name != "none"]


def apart(bench_rows: Any, simulated_rows: Any) -> Apart:
    """Compare two evenings, stage by stage and row by row."""
    ours, theirs = columns(bench_rows), columns(simulated_rows)
    left, right = stages(ours), stages(theirs)
    beyond = abs(len(left) - len(right)) + sum(a != b for (a, _), (b, _) in zip(left, right, strict=False))
    worst_k = worst_share = worst_s = 0.0
    count = 0
    for (_, one), (_, other) in zip(left, right, strict=False):
        one_s, other_s = (side["t_s"][part] - side["t_s"][part][0] for side, part in ((ours, one), (theirs, other)))
        length_s = abs(one_s[-1] - other_s[-1])
        worst_s, beyond = max(worst_s, length_s), beyond + (length_s > STAGE_S + STAGE_SHARE * other_s[-1])
        for name in ("heat_top", "heat_deck"):
            off = abs(float(ours[name][one].mean() - theirs[name][other].mean()))
            worst_share, beyond = max(worst_share, off), beyond + (off > SHARE + 2.0 / max(1.0, other_s[-1]))
        for t_s, pv_c in zip(one_s, ours["pv_c"][one], strict=True):
            near = theirs["pv_c"][other][np.abs(other_s - t_s) <= LATE_S]
            if not len(near) or not np.isfinite(pv_c):
                continue
            off_k = max(0.0, float(near.min() - pv_c), float(pv_c - near.max()))
            worst_k, count, beyond = max(worst_k, off_k), count + 1, beyond + (off_k > READING_K)
    return Apart(count, round(worst_k, 2), round(worst_share, 3), round(float(worst_s), 1), int(beyond))
