"""How near an evening came to each rule about the oven: read from the rules of a board that runs in this process.

    reached = Margins()
    reached.judge(rehearsal)          after every step
    reached.rows()                   [{rule, setpoint_c, value, threshold, distance, unit, at_s}]

A value grows towards its threshold; the distance is threshold less value, so the least distance is what counts, and
below zero the rule has been passed. It is kept for each setpoint apart, since several rules are looser below 400
degrees.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from host.shim.loader import world

if TYPE_CHECKING:
    from host.shim.loader import DeviceModule
    from host.simulator.rehearsal import Rehearsal


MS = 0.001
NEAR_S = 0.3  # a span that ends within this is judged


class Margins:
    """The least distance of every rule of one evening."""

    def __init__(self) -> None:
        self.least = {}  # (rule, setpoint): (distance, value, threshold, at_s)
        self.more = Lasting(world().load("tizzone.safety.limits").SLIP_MS * MS)  # output than this oven needs, %

    def judge(self, rehearsal: Rehearsal) -> None:
        """After a step of a CPython rehearsal."""
        app = rehearsal.board.life.app  # type: ignore[union-attr]  # in this process
        if app is None:
            return
        limits = rehearsal.world.load("tizzone.safety.limits")
        setpoint_c = app.sequence.setpoint_mc // 1000
        found = [*reaches(app, limits), *self._slipped(app, limits, setpoint_c, rehearsal.now_s)]
        for rule, value, threshold in found:
            key = (rule, setpoint_c)
            distance = threshold - value
            if key not in self.least or distance < self.least[key][0]:
                self.least[key] = (distance, value, threshold, rehearsal.now_s)

    def _slipped(self, app, limits, setpoint_c, now_s):
        """The rule about the output: judged by the share of what it bears that has lasted as long as it waits."""
        slipped = app.supervisor.slipped
        judged = app.sequence.session and slipped.calm_ms >= limits.SLIP_SETTLE_MS
        share_pct = self.more.of(100.0 * slipped.out_64 / slipped.most_64() if judged else None, setpoint_c, now_s)
        return [] if share_pct is None else [("probe-slipped", share_pct, 100.0)]

    def rows(self) -> list[dict[str, Any]]:
        """One a rule and setpoint."""
        return [
            {"rule": rule, "setpoint_c": setpoint_c, "distance": distance, "value": value, "threshold": threshold,
             "unit": UNITS[rule], "at_s": at_s}
            for (rule, setpoint_c), (distance, value, threshold, at_s) in sorted(self.least.items())
        ]  # fmt: skip


class Lasting:
    """What a value did not fall below for `span_s`."""

    def __init__(self, span_s: float) -> None:
        self.span_s = span_s
        self._from_s = 0.0
        self._key: object = None
        self._lows: deque[tuple[float, float]] = deque()  # (at_s, value), values rising: the first is the least

    def of(self, value: float | None, key: object, at_s: float) -> float | None:
        """The least of the last `span_s`; None while it has not been judged so long. Another key begins anew."""
        if value is None or key != self._key or not self._lows:
            self._lows.clear()
            self._from_s, self._key = at_s, key
        if value is None:
            return None
        while self._lows and self._lows[-1][1] >= value:
            self._lows.pop()
        self._lows.append((at_s, value))
        while self._lows[0][0] < at_s - self.span_s:
            self._lows.popleft()
        return self._lows[0][1] if at_s - self._from_s >= self.span_s else None


UNITS = {
    "high-limit": "°C",
    "stone-limit": "°C",
    "over-setpoint": "K",
    "undriven-rise": "K in 30 s",
    "probe-fell": "s",
    "sagging": "s",
    "away": "s",
    "no-rise": "K lost over the window",
    "probe-reversed": "K",
    "probes-disagree": "K",
    "probe-slipped": "% of the output that it bears",
    "reading-frozen": "s",
    "reading-wrong": "s",
    "probe-near-element": "turns",
    "box-hot": "°C",
}


def reaches(app: Any, limits: DeviceModule) -> Iterator[tuple[str, float, float]]:
    """(rule, value, threshold) of every rule that judges at this moment."""
    sup, dome, session = app.supervisor, app.dome, app.sequence.session
    yield "box-hot", app.seen.box_mc * MS, limits.BOX_TRIP_MC * MS
    yield "reading-wrong", sup.unsteady.level_ms * MS, limits.UNSTEADY_MS * MS
    if not dome.usable:
        return
    yield "high-limit", dome.limit_mc * MS, sup._limit_mc * MS
    if app.stone is not None and app.stone.usable:
        yield "stone-limit", app.stone.limit_mc * MS, (sup._limit_mc + limits.STONE_MARGIN_MK) * MS
    yield from _heat(app, limits)
    if not session:
        return
    if app.out_pm > 0:
        yield "reading-frozen", dome.same_ms * MS, limits.FROZEN_MS * MS
    yield "probe-fell", sup.fell.stall_ms * MS, limits.FELL_MS * MS
    yield "sagging", sup.slipped.sag_ms * MS, limits.SAG_MS * MS
    yield "away", sup.slipped.away_ms * MS, limits.AWAY_MS * MS
    yield from _rise(app, limits)
    calm = sup.runaway.calm_ms >= limits.CALM_MS
    if calm and sup.ripple.span_ms >= limits.RIPPLE_SPAN_MS - 1000 * NEAR_S:
        yield "probe-near-element", sup.ripple.turns, limits.RIPPLE_TURNS
    if calm and app.stone is not None and app.stone.usable and dome.pv_mc >= limits.DISAGREE_FROM_MC:
        yield "probes-disagree", (app.stone.pv_mc - dome.pv_mc) * MS, limits.DISAGREE_MK * MS


def _heat(app, limits):
    """More heat than was asked for."""
    runaway, pv_mc = app.supervisor.runaway, app.dome.pv_mc
    if app.sequence.session:
        reference_mc = runaway.reference_mc
        more_mk = max(0, limits.OVER_FROM_MC - reference_mc) // limits.OVER_SHARE
        allowed_mk = min(limits.OVER_MK + more_mk, max(limits.OVER_LOW_MK, limits.OVER_MK))
        yield "over-setpoint", (pv_mc - reference_mc) * MS, allowed_mk * MS
    judged = runaway.calm_ms >= limits.UNDRIVEN_CALM_MS and pv_mc > runaway.peak_mc - limits.UNDRIVEN_RISE_MK
    if judged and runaway.span_ms >= limits.UNDRIVEN_SPAN_MS - 1000 * NEAR_S:
        yield "undriven-rise", (pv_mc - runaway.span_start_mc) * MS, limits.UNDRIVEN_RISE_MK * MS


def _rise(app, limits):
    """Less than was asked for, from cold."""
    watched, fell, pv_mc = app.supervisor.no_rise, app.supervisor.fell, app.dome.pv_mc
    if not watched.full_ms:
        return
    if watched.window_ms >= limits.NO_RISE_MS - 1000 * NEAR_S and watched.window_start_mc < limits.COLD_MC:
        yield "no-rise", (watched.window_start_mc - pv_mc) * MS, -limits.NO_RISE_MK * MS
    if fell.first_mc < limits.REVERSED_START_MC and fell.high_mc < fell.first_mc + limits.REVERSED_ROSE_MK:
        yield "probe-reversed", (fell.first_mc - pv_mc) * MS, limits.REVERSED_MK * MS


def least(found: Iterable[list[dict[str, Any]]]) -> dict[tuple[str, int], dict[str, Any]]:
    """The rows of many evenings -> {(rule, setpoint): the row with the least distance}."""
    worst = {}
    for rows in found:
        for row in rows:
            key = (row["rule"], row["setpoint_c"])
            if key not in worst or row["distance"] < worst[key]["distance"]:
                worst[key] = row
    return worst
