"""The faults table boards/FAULTS.md, made from the code: cause, how it is seen, how fast, what it does, what to check.

    python -m tools.faults_table            write it
    python -m tools.faults_table --check    exit code 1 if the file is not what the code says

How a condition is seen stands here and not in limits.py, where it would cost memory on the board.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from host.files.writing import write_text
from host.shim.loader import World

FILE = Path(__file__).parents[1] / "boards" / "FAULTS.md"
KINDS = ("warn", "stop", "hold", "trip")  # by the number that limits.py gives them
ACTS = {
    "trip": "heat off, contactor open, latched",
    "hold": "heat off, evening held",
    "stop": "heat off, evening ends",
    "warn": "told only",
}


def c(value_mc: int) -> str:
    """°C in words."""
    return f"{value_mc / 1000:g} °C"


def k(value_mk: int) -> str:
    """K in words."""
    return f"{value_mk / 1000:g} K"


def how_seen(limits: Any) -> dict[str, tuple[str, int]]:
    """Condition -> (how it is seen, ms until it is, 0 = in the tick that shows it)."""
    groups = (_of_the_probes, _of_the_board, _of_the_power, _of_the_oven, _of_the_contacts, _of_the_parts)
    return {name: seen for group in groups for name, seen in group(limits).items()}


def _of_the_probes(limits):
    """Readings of the probes and of the amplifier."""
    bad = limits.BAD_TRIP_MS
    return {
        "high-limit": ("highest of linearised and calibrated dome reading, unfiltered, reaches the high limit", 0),
        "stone-limit": (f"stone reading reaches the high limit + {k(limits.STONE_MARGIN_MK)}", 0),
        "probe-open": ("the amplifier's open bit", bad),
        "probe-short-ground": ("the amplifier's bit", bad),
        "probe-short-supply": ("the amplifier's bit", bad),
        "probe-silent": ("frame of all ones or all zeros, a frame the chip cannot give, another chip", bad),
        "reading-wrong": (
            f"out of range, faster than any oven, below {c(limits.READING_MIN_MC)}; or unusable readings too often",
            limits.UNSTEADY_MS // limits.UNSTEADY_WEIGHT,
        ),
        "reading-stale": ("the count of finished reads stands still", limits.STALE_MS),
        "reading-frozen": ("the raw code does not change although heat is on", limits.FROZEN_MS),
        "stone-probe": ("any fault of the stone probe", bad),
        "probes-disagree": (
            f"calm oven above {c(limits.DISAGREE_FROM_MC)}, stone reads {k(limits.DISAGREE_MK)} above the dome",
            60_000,
        ),
        "box-hot": (
            f"the amplifier's own temperature reaches {c(limits.BOX_TRIP_MC)} or {c(limits.BOX_MIN_MC)}",
            2_000,
        ),
    }


def _of_the_board(limits):
    """The board itself: clock, program, memory, pins."""
    return {
        "tick-late": (f"a tick of an evening longer than {limits.LATE_MS} ms, or a clock that stands still", 0),
        "clock-wrong": (
            f"tick clock and second clock differ by {limits.CLOCK_ERROR_MS / 1000:g} s in a minute",
            limits.CLOCK_WINDOW_MS,
        ),
        "watchdog-reset": ("reset cause at start, no planned reset on record", 0),
        "program-fault": ("an exception left the loop; pins off first", 0),
        "power-cut": ("the evening's mark is open at start", 0),
        "settings-damaged": ("checksum, a value out of bounds, or no settings on a board that was used, at start", 0),
        "memory-fault": ("limit, highest setpoint or setpoint differ from their inverted copies", 0),
        "self-test": (
            "at start: pins read back, right chips answer, contactor released, dead-man cuts in on a hang",
            0,
        ),
        "deadman": (
            "a timer counts its own ticks since the last drive of the heater; a timer that has stopped is seen in the "
            f"second drive (no heat) and trips in the next ({limits.DEADMAN_SILENT + 1} ticks)",
            limits.DEADMAN_MS * limits.DEADMAN_MISSES,
        ),
        "pin-readback": ("a heat or contactor pin reads back other than driven", 0),
        "start-test": ("current while one of relay and contactor is open, at each start", 0),
    }


def _of_the_power(limits):
    """Relays and contactor."""
    return {
        "relay-welded": ("full current while the relay is commanded off", limits.SENSE_ON_MS),
        "no-current": (
            f"no current while the relay is commanded on; a bad tick counts {limits.LEAK_WEIGHT} times a good one",
            limits.SENSE_OFF_MS,
        ),
        "half-wave": ("current in half waves", limits.HALF_WAVE_MS),
        "contactor-welded": (
            "mirror contact closed, or current, while the contactor is commanded off",
            limits.MIRROR_MS,
        ),
        "contactor-open": ("mirror contact still closed to GND while commanded on", limits.MIRROR_MS),
        "heat-uncontrolled": (
            f"cut off and still rising by {k(limits.UNDRIVEN_RISE_MK)} in {limits.UNDRIVEN_SPAN_MS // 1000} s",
            limits.ESCALATE_MS + limits.UNDRIVEN_SPAN_MS,
        ),
    }


def _of_the_oven(limits):
    """What an oven cannot do, or should not."""
    return {
        "no-rise": (
            f"below {c(limits.COLD_MC)}, full output and a rise of less than {k(limits.NO_RISE_MK)}",
            limits.NO_RISE_MS,
        ),
        "probe-reversed": (f"reading {k(limits.REVERSED_MK)} below its cold start at full output", 2_000),
        "probe-fell": (
            f"more than {k(limits.FELL_MK)} below setpoint or session maximum, full output, no progress",
            limits.FELL_MS,
        ),
        "over-setpoint": (
            f"{k(limits.OVER_MK)} above the setpoint and above what the oven is cooling from "
            f"(more below {c(limits.OVER_FROM_MC)}, at most {k(limits.OVER_LOW_MK)})",
            limits.OVER_MS,
        ),
        "undriven-rise": (
            f"no output for {limits.UNDRIVEN_MS // 1000} s ({limits.UNDRIVEN_COLD_MS // 1000} s below "
            f"{c(limits.UNDRIVEN_SOON_MC)}) and still rising by "
            f"{k(limits.UNDRIVEN_RISE_MK)}, from {c(limits.UNDRIVEN_FROM_MC)} up",
            limits.UNDRIVEN_MS + limits.UNDRIVEN_SPAN_MS,
        ),
    }


def _of_the_contacts(limits):
    """Contacts, people and what is only told."""
    return {
        "limiter-open": ("contact LIMIT_OK", 0),
        "fan-stopped": ("contact FAN_OK while the fan is to run", limits.FAN_MS),
        "latch-doubt": ("the stored latch is damaged, lost or not understood, at start", 0),
        "enable-open": ("contact ENABLE in an evening", 0),
        "selector-original": ("contact SELECTOR in an evening", 0),
        "attendance": (
            f"nobody confirmed within the set time (at most {limits.ATTEND_MAX_MIN} min) above the set temperature "
            f"(at most {c(limits.ATTEND_MAX_MC)})",
            0,
        ),
        "session-long": (f"the set time is over (at most {limits.SESSION_CEILING_MIN} min)", 0),
        "element-weak": (
            f"{c(limits.WEAK_FROM_MC)} to {c(limits.WEAK_TO_MC)} takes over {limits.WEAK_RATIO_PCT} % of learned",
            0,
        ),
        "attend-soon": ("the set time is nearly over", 0),
        "box-warm": (f"the amplifier's own temperature reaches {c(limits.BOX_WARN_MC)}", 2_000),
        "not-commissioned": ("the commissioning record is missing or speaks of another oven", 0),
        "door-open": ("contact DOOR", 0),
        "probe-near-element": (
            f"{limits.RIPPLE_TURNS} swings of {k(limits.RIPPLE_MK)} in {limits.RIPPLE_SPAN_MS // 1000} s, calm oven",
            limits.RIPPLE_SPAN_MS,
        ),
    }


def _of_the_parts(limits):
    """Parts that fail again and again, or slowly."""
    return {
        "repeated-trips": (
            f"{limits.LOCKOUT_TRIPS} trips without an evening between them that came to its setpoint",
            0,
        ),
        "contactor-chatter": (
            f"mirror contact disagrees again and again: a bad tick counts {limits.LEAK_WEIGHT} times a good one",
            limits.CHATTER_MS // limits.LEAK_WEIGHT,
        ),
        "probe-slipped": (
            f"calm at a setpoint from {c(limits.SLIP_FROM_MC)} on, with {limits.SLIP_RATIO_PCT / 100:g} times the "
            f"least output it has needed there and {limits.SLIP_MORE_PM / 10:g} points; or "
            f"{limits.SAG_MK // 1000} K below it at full output without a rise for {limits.SAG_MS // 1000} s, "
            f"or not back {limits.AWAY_MS // 60_000} min after the newest door "
            f"({limits.SAG_FAR_MK // 1000} K, and no time, where it had little to spare)",
            limits.SLIP_MS,
        ),
    }


def fast(ms: int, period_ms: int) -> str:
    """A time as people say it."""
    if ms <= 0:
        return "same tick"
    ticks = -(-ms // period_ms)
    return f"{ms} ms ({ticks} ticks)" if ms < 2_000 else f"{ms / 1000:g} s"


def table(limits: Any, sentences: Any, conditions: Any) -> str:
    """The page's text. KeyError for a condition whose 'how seen' is missing, ValueError for one too many or
    without a sentence."""
    seen = how_seen(limits)
    surplus = set(seen) - set(limits.CONDITION_NAMES)
    if surplus:
        raise ValueError("no such condition: " + ", ".join(sorted(surplus)))
    lines = [
        "# What the supervisor sees",
        "",
        "Made by `python -m tools.faults_table` from `limits.py` and `sentences.py` of `device/tizzone/safety/`: "
        f"do not edit. Times count from the first tick ({limits.PERIOD_MS} ms) that can show the fault; chip faults "
        "deny heat in that tick already. "
        '"Told" is what the panel and the link say.',
        "",
        "| condition | told | how it is seen | how fast | what it does | what to check |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    told = sentences.rows()
    if len(told) != len(conditions.CONDITIONS):
        raise ValueError(f"{len(conditions.CONDITIONS)} conditions, {len(told)} sentences")
    for (name, kind, debounce_ms), (sentence, act) in list(zip(conditions.CONDITIONS, told, strict=True))[1:]:
        how, ms = seen[name]
        soon = fast(max(ms, debounce_ms), limits.PERIOD_MS)
        lines.append(f"| {name} | {sentence} | {how} | {soon} | {ACTS[KINDS[kind]]} | {act} |")
    return "\n".join(lines) + "\n"


def main(argv: list[str] | None = None) -> int:
    """The command; returns its exit code."""
    parser = argparse.ArgumentParser(description="The faults table, made from the code.")
    parser.add_argument("--check", action="store_true", help="write nothing; exit code 1 if the file is out of date")
    options = parser.parse_args(argv)
    device = World()
    text = table(*[device.load("tizzone.safety." + name) for name in ("limits", "sentences", "conditions")])
    if options.check:
        if not FILE.is_file() or FILE.read_text(encoding="utf-8") != text:
            print("boards/FAULTS.md is out of date: python -m tools.faults_table", file=sys.stderr)
            return 1
        return 0
    write_text(FILE, text)
    return 0


if __name__ == "__main__":
    sys.exit(main())
