"""Holds a drilled case to what its faults promise."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host.drill.observe import NEVER

if TYPE_CHECKING:
    from host.drill.campaign import Result
    from host.drill.observe import Seen
    from host.faults.base import Fault, Promise, Quiet


OVER_K = 15.0  # the true dome never exceeds the high limit by more, on any fault with a contactor fitted
GRAIN_S = 0.3  # a tick is 250 ms and a zero crossing 10 ms: what "within" can be measured to
HEAT_AFTER_S = 0.05


def hold_to_promises(result: Result, seen: Seen, faults: list[Fault], promises: list[Promise | Quiet]) -> None:
    """Fill `failed` and `quiet` of a Result. Nothing is excused: without a limiter the release is low."""
    live = [p for p in promises if not p.quiet and _counts(seen, p)]
    waiting = [p for p in promises if not p.quiet and not _counts(seen, p)]
    allowed = frozenset().union(*(p.reasons for p in promises))
    result.quiet = "; ".join(p.quiet for p in promises if p.quiet)
    broken = []
    others = [p for p in promises if p not in live]
    if live and not _kept(seen, live) and not _forestalled(seen, live, others):
        broken.append(_late(seen, live))
    if waiting and not live and seen.reason == "none" and not result.quiet:
        result.quiet = f"no relay was commanded {waiting[0].since} (for long enough) meanwhile"
    shown = seen.reason
    if shown != "none" and shown not in allowed:
        broken.append(f"unexpected reason {shown}")
    for promise in live:
        if promise.inhibit_s is not None and seen.heat_off_s > promise.inhibit_s + GRAIN_S:
            broken.append(f"heat ended after {seen.heat_off_s:.2f} s, promised {promise.inhibit_s:g} s")
    if seen.after_reason_s > HEAT_AFTER_S:
        broken.append(f"heat for {seen.after_reason_s:.1f} s after the reason was shown")
    if any(kind == "trip" for _, kind, _ in seen.reasons) and seen.end_trip in ("none", ""):
        broken.append("the trip was forgotten")
    result.peak_c = max(result.peak_c, seen.highest_c) if not seen.reasons else result.peak_c
    if max(result.peak_c, seen.highest_c) > result.limit_c + OVER_K:
        broken.append(f"true dome {max(result.peak_c, seen.highest_c):.0f} °C, above limit + 15 K")
    result.failed = "; ".join(broken)


def _counts(seen, promise):
    """Whether what a promise counts from came, and its relay was on for long enough to show."""
    if seen.since(promise) == NEVER:
        return False
    return not promise.while_on or seen.due(promise) != NEVER or seen.reason in promise.reasons


def _kept(seen, live):
    """Whether one of the promises was kept: the right reason in time (one is enough: it ends the heat)."""
    return any(_one_kept(seen, promise) for promise in live)


def _forestalled(seen, live, others):
    """Of two faults the other one spoke first, before what its own time counts from, and no later than promised.

    A stuck pin never shows the 'off' or 'on' that its promise counts from, yet reads back wrong in the next tick; a
    harmless fault may trip all the same.
    """
    named = any(seen.reason in promise.reasons for promise in others)
    return named and seen.seen_s <= max(_deadline_s(seen, promise) for promise in live)


def _deadline_s(seen, promise):
    return seen.due(promise) - seen.fault_s + GRAIN_S


def _one_kept(seen, promise):
    deadline_s = _deadline_s(seen, promise)
    if "none" in promise.reasons and seen.reason == "none":
        return seen.heat_off_s <= deadline_s
    if seen.reason in promise.reasons:
        return seen.seen_s <= deadline_s
    warned = [s for s, kind, name in seen.reasons if kind == "warn" and name in promise.reasons]
    return bool(warned) and warned[0] <= deadline_s


def _late(seen, live):
    promise = min(live, key=lambda p: p.within_s)
    counted_s = seen.since(promise) - seen.fault_s
    wanted = " or ".join(sorted(promise.reasons))
    got = "nothing shown" if seen.reason == "none" else f"{seen.reason} {seen.seen_s - counted_s:.1f} s"
    on = " of its time on" if promise.while_on else ""
    return f"{got} after the first {promise.since}; promised {wanted} within {promise.within_s:g} s{on}"
