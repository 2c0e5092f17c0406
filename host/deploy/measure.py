"""What a person should know of a board that nobody has measured, told by the board itself: memory, collection, flash
and clock at its prompt, then the start and the answers of the running program.

With everything off and the oven's mains unplugged. Levels of pins before boot.py has run need a meter or an
oscilloscope: boards/README.md.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from host.deploy import DeployError
from host.deploy.entry import fields

if TYPE_CHECKING:
    from host.deploy.line import Line

QUESTIONS = 40
CLOCK_S = 10.0
LATE = ("tick-late", "clock-wrong", "deadman", "watchdog-reset", "program-fault")  # trips that speak of the board
AT_PROMPT = """
import gc, os, time, machine
_t = time.ticks_us()
gc.collect()
_gc = time.ticks_diff(time.ticks_us(), _t)
_b = b"x" * 1024
_w = []
for _i in range(8):
    _t = time.ticks_us()
    with open("measure.new", "wb") as _f:
        _f.write(_b)
    _w.append(time.ticks_diff(time.ticks_us(), _t))
os.remove("measure.new")
try:
    from machine import Timer
    _h = 1
    Timer(-1, mode=Timer.PERIODIC, period=100, callback=lambda t: None, hard=True).deinit()
except (TypeError, ValueError, OSError, AttributeError):
    _h = 0
gc.collect()
print(_gc, max(_w), gc.mem_free(), _h, machine.reset_cause())
"""
TICKS = "import time\nprint(time.ticks_ms())\n"


def at_prompt(line: Line) -> dict[str, Any]:
    """{"collection_ms", "flash_ms", "free_bytes", "has_hard_timer", "reset_cause", "clock_pct"} of a board at its raw
    prompt."""
    try:
        collection_us, flash_us, free, is_hard, cause = map(int, line.run(AT_PROMPT).split())
    except ValueError:
        raise DeployError("the board does not tell its figures: load it without --measure") from None
    first, begun = int(line.run(TICKS)), time.monotonic()
    time.sleep(CLOCK_S)
    last, ended = int(line.run(TICKS)), time.monotonic()
    clock_pct = 100.0 * ((last - first) / 1000.0 / (ended - begun) - 1.0)
    return {"collection_ms": collection_us / 1000, "flash_ms": flash_us / 1000, "free_bytes": free,
            "has_hard_timer": bool(is_hard), "reset_cause": cause, "clock_pct": round(clock_pct, 2)}  # fmt: skip


def running(line: Line) -> dict[str, Any]:
    """{"reply_ms", "slowest_reply_ms", "unanswered", "stalls", "trip"} of a board whose program runs."""
    took = []
    for _ in range(QUESTIONS):
        begun = time.monotonic()
        if line.ask("status", 3 * line.timing.reply_s) is not None:
            took.append(1000.0 * (time.monotonic() - begun))
    if not took:
        raise DeployError("the board does not answer any more")
    stalls = fields(line.ask("counters", 3 * line.timing.reply_s) or "").get("stalls", "unknown")
    trip = fields(line.ask("status", 3 * line.timing.reply_s) or "").get("trip", "unknown")
    return {"reply_ms": round(statistics.median(took)), "slowest_reply_ms": round(max(took)),
            "unanswered": QUESTIONS - len(took), "stalls": stalls, "trip": trip}  # fmt: skip


def told(figures: dict[str, Any], say: Callable) -> None:
    """The figures in lines, each with what is known of a Pico or what to think of it."""
    f = figures
    say(f"free memory at the prompt      {f['free_bytes'] // 1000} kB (the program wants 115 to 130 of it, and room)")
    say(f"collection at the prompt       {f['collection_ms']:.0f} ms")
    say(f"slowest of 8 files of 1 kB     {f['flash_ms']:.0f} ms (over 3000: no evening can keep its records)")
    say(f"clock against this computer    {f['clock_pct']:+.2f} % (within 0.3 nothing can be told)")
    hard = "yes" if f["has_hard_timer"] else "no: CONTACTOR_DRIVE must be pulse, with its monostable"
    say(f"hard timer for the dead-man    {hard}")
    say(f"reset to armed                 {f['armed_s']:.1f} s (over 15: say so)")
    say(f"reply to a question            {f['reply_ms']} ms, slowest {f['slowest_reply_ms']} (a tick is 250)")
    say(f"questions without a reply      {f['unanswered']} of {QUESTIONS}")
    say(f"late ticks by its own writes   {f['stalls']}")
    if f["trip"] in LATE:
        say(f"TRIP                           {f['trip']}: this board is not to be relied on as it is")
