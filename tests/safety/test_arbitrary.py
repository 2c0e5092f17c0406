"""Arbitrary inputs and timing: the permit is never granted unless each permissive, stated here once more, holds."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from safety_bench import Bench, L, load

CONDITIONS = load("safety.conditions").CONDITIONS

mc = st.one_of(
    st.sampled_from([-300_000, -15_000, -14_999, 20_000, 249_999, 479_999, 480_000, 480_001, 499_999, 500_000]),
    st.integers(-300_000, 1_835_000),
)
bit = st.sampled_from([1, 1, 1, 1, 1, 0])
rare = st.sampled_from([0, 0, 0, 0, 0, 1])
TICK = st.fixed_dictionaries(
    {
        "dt_ms": st.one_of(st.sampled_from([250, 250, 250, 0, 500, 501]), st.integers(-(2**29), 2**29 - 1)),
        "pv_mc": mc, "limit_mc": mc, "stone_mc": mc,
        "usable": bit, "stone_usable": bit, "fresh": bit, "fault": st.integers(0, 12),
        "enable": bit, "limit_ok": bit, "selector_ours": bit, "fan_ok": bit, "door_shut": bit, "readback_ok": bit,
        "active": bit, "session": bit, "deadman_fired": rare, "proving": rare, "fan_on": bit,
        "mirror_open": st.sampled_from([-1, 0, 1]), "top_sense": st.sampled_from([-1, 0, 1, 2]),
        "deck_sense": st.sampled_from([-1, 0, 1, 2]), "top_on": bit, "deck_on": bit, "contactor_on": bit,
        "setpoint_mc": mc, "copy_ok": bit, "out_pm": st.sampled_from([0, 500, 950, 1000]),
        "box_mc": mc, "clock_error_ms": st.sampled_from([0, 0, 0, 3_001, -(2**29)]), "same_ms": st.integers(0, 2**27),
        "line": st.sampled_from(["", "", "", "acknowledge", "unlock", "present", "done"]),
    }
)  # fmt: skip
DIRECT = (
    "enable", "limit_ok", "selector_ours", "fan_ok", "door_shut", "readback_ok", "active", "session", "deadman_fired",
    "proving", "fan_on", "mirror_open", "top_sense", "deck_sense", "top_on", "deck_on", "contactor_on", "out_pm",
    "box_mc", "clock_error_ms", "setpoint_mc",
)  # fmt: skip


def feed(bench, tick):
    """One tick of arbitrary values."""
    seen = bench.seen
    for name in DIRECT:
        setattr(seen, name, tick[name])
    seen.setpoint_inverted = ~tick["setpoint_mc"] if tick["copy_ok"] else tick["setpoint_mc"]
    bench.dome.usable = bool(tick["usable"])
    bench.dome.fault = 0 if tick["usable"] else tick["fault"]
    bench.dome.pv_mc, bench.dome.limit_mc, bench.dome.same_ms = tick["pv_mc"], tick["limit_mc"], tick["same_ms"]
    bench.stone.usable = bool(tick["stone_usable"])
    bench.stone.pv_mc = bench.stone.limit_mc = tick["stone_mc"]
    bench.is_fresh = bool(tick["fresh"])
    return bench.tick(tick["dt_ms"])


@pytest.mark.slow
@settings(max_examples=80, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(ticks=st.lists(TICK, min_size=1, max_size=12))
def test_heat_is_never_granted_unless_each_permissive_holds(ticks):
    bench = Bench()
    stale_ticks = 1
    tripped_before = False
    for tick in ticks:
        permit = feed(bench, tick)
        stale_ticks = 0 if tick["fresh"] else stale_ticks + 1
        if permit.granted:
            assert permit.contactor and not permit.tripped
            assert 0 < tick["dt_ms"] <= 500
            for name in ("enable", "limit_ok", "selector_ours", "fan_ok", "door_shut", "readback_ok", "active"):
                assert tick[name], name
            assert tick["usable"] and tick["stone_usable"] and stale_ticks <= 1
            assert tick["pv_mc"] > -15_000 and tick["limit_mc"] < 500_000 and tick["stone_mc"] < 540_000
            assert tick["setpoint_mc"] <= 480_000 and tick["copy_ok"]
            assert not tick["deadman_fired"]
            assert not tripped_before
            assert abs(tick["clock_error_ms"]) <= 3_000
        tripped_before = bench.sup.first_out != L.NONE
        if tick["line"] == "acknowledge":
            if bench.sup.acknowledge(bench.seen) == bench.module.ACCEPTED:
                assert not any(bench.sup.present[i] for i in range(L.COUNT) if CONDITIONS[i][1] == L.TRIP)
                assert not tripped_before or (tick["usable"] and tick["pv_mc"] < L.RESTART_MC)
            tripped_before = bench.sup.first_out != L.NONE
        elif tick["line"] == "unlock":
            bench.sup.unlock(bench.seen)
        elif tick["line"] == "present":
            bench.sup.attendance.confirm()
        elif tick["line"] == "done":
            bench.sup.evening_done()


@pytest.mark.slow
@settings(max_examples=150, deadline=None, derandomize=True)
@given(
    latch=st.one_of(
        st.recursive(
            st.one_of(st.none(), st.booleans(), st.integers(), st.text(max_size=9)),
            lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=9), inner, max_size=4),
        ),
        st.fixed_dictionaries(
            {
                "first_out": st.sampled_from(L.CONDITION_NAMES + ("", None)),
                "tripped": st.lists(st.sampled_from(L.CONDITION_NAMES + ("", None)), max_size=4),
                "in_a_row": st.one_of(st.integers(), st.none()),
                "locked_out": st.sampled_from([0, 1, 2, None, True]),
            }
        ),
    )
)
def test_any_stored_latch_is_taken_over_or_counts_as_a_trip(latch):
    bench = Bench()
    bench.sup.restore(latch)
    clean = isinstance(latch, dict) and latch.get("first_out") == "none" and latch.get("tripped") == []
    if bench.tick().granted:
        assert clean and latch["locked_out"] == 0
    elif clean and latch["locked_out"] == 0 and isinstance(latch["in_a_row"], int):
        raise AssertionError("a clean latch denies heat")
