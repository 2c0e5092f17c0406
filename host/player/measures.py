"""What the player has measured of the board while it played, by its own clock of 1 us.

Times of selects and edges are those of an interrupt in MicroPython: 20 to 100 us late, and no better than that.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from host.player.bench import Bench
from host.player.harness import HELD_DOWN

AT_ONCE_MS = 50.0  # two selects closer than this are one tick's: a check of the chip at the start
AWAY_MS = 3000.0  # a longer gap is a restart, not a stall
ASIDE_US = 1_000_000  # from when somebody restarts the board, or the player rests, its ticks tell nothing of the board
LEFT_US = 500_000  # what falls so soon after a stop was switched off by the program's own end
PERIOD_MS = 250.0
BOOT_S = 30.0


def ticks(ticks_us: Sequence[int], aside_us: Sequence[int] = ()) -> dict[str, float | int]:
    """Tick period and jitter in ms, from the selects of the dome's chip: median, 1 % and 99 %, the longest, and how
    much longer than a period the longest stall was. {} below ten ticks. `aside_us`: moments at which the board was
    restarted or the player let go; what a second after them touches is left out."""
    at_us = np.asarray(ticks_us, dtype=float)
    gaps_ms = np.diff(at_us) / 1000.0
    told = (gaps_ms > AT_ONCE_MS) & (gaps_ms < AWAY_MS)
    for moment_us in aside_us:
        told &= (at_us[1:] < moment_us) | (at_us[:-1] > moment_us + ASIDE_US)
    gaps_ms = gaps_ms[told]
    if len(gaps_ms) < 10:
        return {}
    low, middle, high = np.percentile(gaps_ms, (1, 50, 99))
    return {
        "ticks": len(gaps_ms) + 1,
        "period_ms": round(float(middle), 2),
        "p01_ms": round(float(low), 2),
        "p99_ms": round(float(high), 2),
        "longest_ms": round(float(gaps_ms.max()), 1),
        "longest_stall_ms": round(max(0.0, float(gaps_ms.max()) - PERIOD_MS), 1),
    }


def away_s(ticks_us: Sequence[int], after_us: int) -> float | None:
    """Seconds without a tick after a moment in which the board was stopped: the watchdog's time and the restart; None
    if there was no such gap."""
    later = [at for at in ticks_us if at >= after_us - PERIOD_MS * 1000]
    gaps_s = np.diff(np.asarray(later, dtype=float)) / 1e6
    gaps_s = gaps_s[gaps_s > AWAY_MS / 1000 / 2]
    return round(float(gaps_s[0]), 2) if len(gaps_s) else None


def bite_s(ticks_us: Sequence[int], edges: Sequence[tuple[int, str, int]], stopped_us: int) -> float | None:
    """Seconds from the last tick of a stopped program to the watchdog's bite: then a lamp or buzzer that it has left on
    goes out. None where nothing was left on."""
    for before, at in zip(ticks_us, ticks_us[1:], strict=False):
        if at > stopped_us and at - before > AWAY_MS * 1000 / 2:
            fell = [when for when, name, level in edges if not level and name not in HELD_DOWN
                    and stopped_us + LEFT_US < when < at]  # fmt: skip
            return round((fell[0] - before) / 1e6, 2) if fell else None
    return None


def high_ms(
    edges: Sequence[tuple[int, str, int]], names: Sequence[str], before: dict[str, int], span_us: tuple[int, int]
) -> dict[str, float]:
    """{line: ms that it was high} within a span of time, from its edges and its level before."""
    begin_us, end_us = span_us
    found = {}
    for name in names:
        level, at_us, total_us = before.get(name, 0), begin_us, 0
        for edge_us, other, new in edges:
            if other == name and begin_us <= edge_us <= end_us:
                total_us += (edge_us - at_us) * level
                level, at_us = new, edge_us
        found[name] = round((total_us + (end_us - at_us) * level) / 1000, 1)
    return found


def boot(bench: Bench, restart: Any) -> dict[str, Any]:
    """Restart the board (`restart()`: by its reset pin, or a person at its plug) and look at every output until it has
    armed: {"armed_s", "high_ms": {line: ms}, "heat_moved": lines that can heat and rose}."""
    names = [wire.name for wire in bench.harness.wires if wire.is_output]
    before = {name: level for _, name, level in bench.edges}
    begun_us = bench.outside.now_us
    bench.status = {}
    bench.set_aside()
    restart()
    armed = bench.until(lambda: "armed" not in bench.status.get("missing", ["armed"]), BOOT_S)
    span = (begun_us, bench.outside.now_us)
    high = high_ms(bench.edges, names, before, span)
    rose = {name for at_us, name, level in bench.edges if level and span[0] <= at_us <= span[1]}
    return {
        "armed_s": round((span[1] - span[0]) / 1e6, 2) if armed else None,
        "high_ms": high,
        "heat_moved": sorted(rose & set(HELD_DOWN)),
    }
