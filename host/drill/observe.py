"""Watches one drilled case: when the heat ended, which reason was first, how hot the true dome became."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from host.faults.base import SECOND_TRY, SINCE

if TYPE_CHECKING:
    from host.faults.base import Fault, Promise, Quiet
    from host.simulator.rehearsal import Rehearsal


ASK_AFTER_S = 10.0  # somebody asks for heat so long after the fault, where none is on
SETTLE_S = 15.0  # at least so long after the end of the heat
LONGEST_AFTER_S = 1500.0
LONGEST_ON_S = 120.0  # a relay that adds up to less on time than a promise needs is waited for so long
FALLEN_K = 2.0  # the true dome has peaked when it is so far below its highest
NEVER = float("inf")
NAN = float("nan")


class Present:
    """A cook who stays and says so, but opens and lays nothing more: in still air a fault heats most."""

    def __init__(self) -> None:
        self.due_s = 0.0

    def act(self, rehearsal: Rehearsal) -> None:
        """Confirm presence every four minutes of an evening."""
        if rehearsal.state in ("running", "held") and rehearsal.now_s >= self.due_s:
            self.due_s = rehearsal.now_s + 240.0
            rehearsal.say("present")


def places(plant: Any) -> list[tuple[str, str]]:
    """(name, place) of every true temperature of air, walls and stone that this oven can tell."""
    found = []
    for name, place in (
        *(("air", "dome"), ("wall", "liner"), ("wall", "roof")),
        *(("stone", "stone"), ("stone", "rim"), ("stone", "under")),
    ):
        try:
            plant.true_c(place)
        except (ValueError, AttributeError):  # a plant need not tell
            continue
        found.append((name, place))
    return found


class Seen:
    """What was seen; times in s after the fault, refs in s since power-up."""

    def __init__(self, made: Rehearsal) -> None:
        self.fault_s = made.now_s
        # first moments after the fault, s since power-up: contactor closed, relay commanded off or on
        self.moments = dict.fromkeys(SINCE[1:], NEVER)
        self.ticks = {}
        self.asked_us = {}  # of each zone at the newest look
        self.asked_s = {}  # {moment: [(s since power-up, s commanded on since that moment), ...]}
        self.reason = "none"
        self.reasons = []  # (s after the fault, condition), in order
        self.seen_s = NAN
        self.heat_off_s = 0.0
        self.stop_c = self.peak_c = self.highest_c = NAN
        self.hottest: dict[str, float] = {}  # true °C since the fault: air, wall, stone, as far as the oven knows them
        self.after_reason_s = 0.0  # conduction later than 0.6 s after the reason, s
        self.end_trip = ""

    def feel(self, plant: Any, known: Sequence[tuple[str, str]]) -> None:
        """Note which of the places `known` are hotter than ever."""
        for name, place in known:
            true_c = plant.true_c(place)
            if true_c > self.hottest.get(name, -NEVER):
                self.hottest[name] = true_c

    def since(self, promise: Promise) -> float:
        """From when a promise counts, s since power-up; NEVER if that moment did not come."""
        return self.fault_s if promise.since == "fault" else self.moments[promise.since]

    def due(self, promise: Promise) -> float:
        """When a promise is due, s since power-up; NEVER if its relay was not commanded on for so long."""
        if not promise.while_on:
            return self.since(promise) + promise.within_s
        on = self.asked_s.get(promise.since, [])
        return next((now_s for now_s, asked_s in on if asked_s >= promise.within_s), NEVER)


def watch_until_over(made: Rehearsal, faults: Sequence[Fault], promises: Sequence[Promise | Quiet], phase: str) -> Seen:
    """Make the faults and advance until all is over: a Seen."""
    seen = Seen(made)
    outside = made.outside
    first_event = len(made.events)
    made.cook = Present()
    known = places(made.plant)
    _make(faults, outside)
    asked = phase not in SECOND_TRY
    longest_s = max((getattr(p, "watch_s", p.within_s) for p in promises), default=0.0)
    total_us, off_at_s = _conducted(outside), made.now_s
    seen.stop_c = seen.highest_c = seen.peak_c = outside.true_c("dome")
    while True:
        if not asked and made.now_s >= seen.fault_s + ASK_AFTER_S:
            asked = True
            made.say("start" if phase == "cold" else "resume")
        before_s = made.now_s
        made.advance(0.2)
        outside.account()
        now_us = _conducted(outside)
        flowed_s = max(b - a for a, b in zip(total_us, now_us, strict=True)) / 1e6
        total_us = now_us
        true_c = outside.true_c("dome")
        seen.feel(made.plant, known)
        _references(seen, outside, before_s)
        if len(made.events) > first_event:
            _note(seen, made.events[first_event:])
            first_event = len(made.events)
        if flowed_s > 0:
            off_at_s = min(made.now_s, before_s + flowed_s)
            seen.stop_c = seen.peak_c = true_c
            if seen.reason != "none" and before_s > seen.fault_s + seen.seen_s + 0.35:
                seen.after_reason_s += flowed_s
        seen.peak_c = max(seen.peak_c, true_c)
        seen.highest_c = max(seen.highest_c, true_c)
        if _is_over(seen, made, promises, asked, off_at_s, true_c, longest_s):
            break
    seen.heat_off_s = max(0.0, off_at_s - seen.fault_s)
    seen.end_trip = made.trip
    return seen


def _make(faults, outside):
    for fault in faults:
        outside.quiet_us = 0
        outside.at(outside.now_us, fault, "start", outside)


def _conducted(outside):
    return [relay.total_us for relay in outside.relays]


def _references(seen, outside, before_s):
    if outside.contactor.is_closed:
        _moments(seen, outside, before_s)
    for relay in outside.relays:
        seen.asked_us[relay.zone] = relay.asked_us


def _moments(seen, outside, before_s):
    moments = seen.moments
    moments["heat"] = min(moments["heat"], before_s)
    for relay in outside.relays:
        word = "on" if relay.commanded else "off"
        name = f"{word}_{relay.zone}"
        # An off of a single tick is too short for any current sense: the second tick counts.
        seen.ticks[name] = seen.ticks.get(name, 0) + 1
        if seen.ticks[name] == 2:
            moments[name] = before_s
            moments[word] = min(moments[word], before_s)
        if moments["on_" + relay.zone] != NEVER:
            on = seen.asked_s.setdefault("on_" + relay.zone, [(before_s, 0.0)])
            step_s = (relay.asked_us - seen.asked_us.get(relay.zone, relay.asked_us)) / 1e6
            on.append((outside.now_us / 1e6, on[-1][1] + step_s))


def _note(seen, events):
    for event in events:
        if event["kind"] == "fault":
            seen.fault_s = event["t_s"]
        if event["kind"] not in ("trip", "hold", "warn") or event["value"] == "none":
            continue
        after_s = event["t_s"] - seen.fault_s
        seen.reasons.append((after_s, event["kind"], event["value"]))
        if event["kind"] != "warn" and seen.reason == "none":
            seen.reason, seen.seen_s = event["value"], after_s


def _is_over(seen, made, promises, asked, off_at_s, true_c, longest_s):
    now_s = made.now_s
    if not asked or now_s < seen.fault_s + 3.0:
        return False
    if seen.reason != "none":
        quiet_s = now_s - max(off_at_s, seen.fault_s + seen.seen_s)
        if quiet_s >= LONGEST_AFTER_S:
            return True
        return quiet_s >= SETTLE_S and true_c < max(seen.peak_c - FALLEN_K, 60.0) and made.state not in ("none", "")
    # Nothing shown yet: wait as long as the slowest promise may need, and a little more.
    counting = [p for p in promises if not p.quiet and p.while_on and seen.since(p) != NEVER == seen.due(p)]
    if counting and now_s < min(seen.since(p) for p in counting) + LONGEST_ON_S:
        return False
    begin_s = max(seen.fault_s, seen.fault_s if made.now_s - seen.fault_s > 15 else now_s)
    references = [seen.since(p) for p in promises if not p.quiet]
    references = [r for r in references if r != NEVER]
    if references:
        begin_s = max(references)
    elif any(not p.quiet for p in promises):
        return now_s > seen.fault_s + 4000.0 or (made.state not in ("running", "none") and now_s > seen.fault_s + 60.0)
    extra_s = ASK_AFTER_S if all(p.quiet for p in promises) else 0.0
    return now_s > begin_s + longest_s + extra_s + 5.0
