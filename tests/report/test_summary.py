"""Figures of a run, against evenings whose answer is known by construction."""

import json
import math

import numpy as np
import pytest

from host.runs.recording import DTYPE, clean
from host.runs.report import FIGURES, summarise, table
from host.runs.summary import clock, sentences, switchings

SLOPE_K_PER_S = 430 / 2000  # of the synthetic approach


def test_summary_of_a_known_evening_has_the_known_figures(night):
    rows, events = night
    summary = summarise(rows, events)
    assert summary["to_setpoint_s"] == pytest.approx(2000 - 5 / SLOPE_K_PER_S, abs=1)
    assert summary["overshoot_k"] == pytest.approx(4.0, abs=0.01)  # half a sine of 4 K
    # a sine of 1 K sampled every second, period 10 s: peaks fall between the samples
    assert summary["band_k"] == pytest.approx(2 * np.sin(2 * np.pi * 3 / 10), abs=1e-6)
    assert summary["breads"] == 3
    # the dip is 60 K exp(-(t - 20) / 45): within 5 K again after 20 + 45 ln 12 s; a ripple of 1 K around it
    assert summary["recovery_s"] == pytest.approx(20 + 45 * math.log(12), abs=10)
    assert all(b["sag_k"] == pytest.approx(60, abs=1.1) for b in summary["bread_list"])
    assert summary["energy_kwh"] == pytest.approx(2.0 * (2000 + (3600 + 1200 - 2000) / 2) / 3600, abs=0.002)
    assert summary["top_switchings"] == 1 + (4800 - 2000) // 10 - 1
    assert summary["contactor_switchings"] == 1
    assert summary["top_on_min"] == pytest.approx((2000 + 1400) / 60, abs=0.02)
    assert summary["deck_on_min"] == pytest.approx((2000 + 1120) / 60, abs=0.02)
    assert summary["highest_reading_c"] == pytest.approx(454.0, abs=0.01)
    assert summary["highest_box_c"] == 31.5
    assert summary["trips"] == 0 and summary["trip_list"] == []


def test_summary_runner_counts_go_before_those_from_the_rows(night):
    summary = summarise(*night, plant_energy_kwh=3.25, counts={"top": 812, "contactor": 2})
    assert summary["energy_kwh"] == 3.25
    assert summary["top_switchings"] == 812
    assert summary["contactor_switchings"] == 2
    assert summary["deck_switchings"] == summarise(*night)["deck_switchings"]


def test_summary_what_the_rows_do_not_hold_is_unknown_and_never_guessed(plain_night):
    summary = summarise(*plain_night)
    for key in ("energy_kwh", "contactor_switchings", "highest_box_c"):
        assert summary[key] is None
    assert "no figure" in table(summary)


def test_summary_of_a_run_that_never_arrives_claims_nothing(make_evening):
    rows, events = make_evening()
    summary = summarise(rows[:1500], events[:1])
    for key in ("to_setpoint_s", "overshoot_k", "band_k", "recovery_s"):
        assert summary[key] is None


def test_summary_door_ends_the_overshoot_and_the_band(night):
    rows, events = night
    rows["pv_c"][2395] += 30  # what the door did
    door = {"t_s": 2390.0, "kind": "door"}
    summary = summarise(rows, [*events, door])
    assert summary["overshoot_k"] == pytest.approx(4.0, abs=0.01)
    assert summary["band_k"] is None  # 2390 is less than 120 s after 1977 + 300
    assert summarise(rows, events)["overshoot_k"] > 29


@pytest.mark.parametrize("value", ["held", "stopping", "aborted"])
def test_summary_leaving_the_running_state_ends_the_approach(night, value):
    rows, events = night
    rows["pv_c"][2395] += 30
    left = {"t_s": 2390.0, "kind": "state", "value": value}
    assert summarise(rows, [*events, left])["overshoot_k"] == pytest.approx(4.0, abs=0.01)
    stays = {"t_s": 2390.0, "kind": "state", "value": "running"}
    assert summarise(rows, [*events, stays])["overshoot_k"] > 29


@pytest.mark.parametrize(("extra_s", "has_band"), [(-2, False), (2, True)])
def test_summary_band_needs_two_minutes_after_settling(night, extra_s, has_band):
    rows, events = night
    reached_s = summarise(rows, events)["to_setpoint_s"]
    door = {"t_s": reached_s + 300 + 120 + extra_s, "kind": "door"}
    assert (summarise(rows, [*events, door])["band_k"] is not None) == has_band


def test_summary_lowered_setpoint_is_no_overshoot(night):
    rows, events = night
    rows["setpoint_c"][2600:] = 300
    summary = summarise(rows, events)
    assert summary["overshoot_k"] == pytest.approx(4.0, abs=0.01)
    assert summary["band_k"] == pytest.approx(1.902, abs=0.01)


def test_summary_rising_reference_is_not_taken_for_arrival(night):
    rows, events = night
    rows["setpoint_c"][:2000] = np.minimum(rows["pv_c"][:2000] + 1, 450)  # reading follows a ramp
    assert summarise(rows, events)["to_setpoint_s"] > 1900


def test_summary_bread_not_recovered_before_the_next_has_no_figure(night):
    rows, events = night
    between = {"t_s": 3650.0, "kind": "load"}
    summary = summarise(rows, sorted([*events, between], key=lambda e: e["t_s"]))
    assert summary["bread_list"][0]["recovery_s"] is None
    assert "not back before the next" in table(summary)


def test_summary_bread_that_is_hardly_felt_is_back_at_once(night):
    rows, events = night
    rows["pv_c"][3600:3900] = 447.0
    assert summarise(rows, events)["bread_list"][0] == {"t_s": 3600.0, "recovery_s": 0.0, "sag_k": 3.0}


def test_summary_last_bread_before_the_stop_is_not_measured_into_the_cooling(night):
    rows, events = night
    rows["pv_c"][4250:4800] = 430.0
    assert summarise(rows, events)["bread_list"][-1]["recovery_s"] is None


def test_summary_trips_come_with_reasons_from_events_or_from_rows(night):
    rows, events = night
    rows["trip"][5000:5010] = "high_limit"
    rows["trip"][5010:] = "box-hot"
    summary = summarise(rows, events)
    assert summary["trip_list"] == [
        {"t_s": 5000.0, "reason": "high_limit", "text": "high limit"},  # no condition of the device
        {"t_s": 5010.0, "reason": "box-hot", "text": sentences()["box-hot"]},
    ]
    assert "box is too hot" in summary["trip_list"][1]["text"]
    told = {"t_s": 5000.0, "kind": "trip", "text": "Dome above the high limit."}
    summary = summarise(rows, [*events, told])
    assert [one["text"] for one in summary["trip_list"]] == ["Dome above the high limit."]
    coded = [{"t_s": 3.0, "kind": "trip", "value": word} for word in ("none", "probe-open", "none")]
    summary = summarise(rows, [*events, *coded])
    assert [one["reason"] for one in summary["trip_list"]] == ["probe-open"]
    summary = summarise(rows, [*events, told])
    assert "TRIP at 1:23:20 h" in table(summary)


def test_summary_without_rows_or_with_dead_readings_stands(night):
    rows, events = night
    assert summarise(rows[:0], [])["duration_s"] is None
    rows["pv_c"] = math.nan
    summary = summarise(rows, events)
    assert summary["highest_reading_c"] is None and summary["overshoot_k"] is None
    assert json.loads(json.dumps(clean(summary)))["breads"] == 3
    assert summarise(np.zeros(1, DTYPE), [])["energy_kwh"] == 0


def test_summary_switchings_count_each_closing():
    assert switchings(np.array([1.0, 1, 0, 0.3, 1, 0, 0, 1])) == 3
    assert switchings(np.array([0.0, 0])) == 0
    assert switchings(np.array([math.nan])) is None


def test_summary_table_names_every_figure_once(night):
    lines = table(summarise(*night)).splitlines()
    for words, *_ in FIGURES.values():
        assert sum(line.startswith(words + "  ") for line in lines) == 1
    assert max(map(len, lines)) <= 79


@pytest.mark.parametrize(
    ("seconds", "text"), [(0, "0:00 min"), (59.6, "1:00 min"), (3599, "59:59 min"), (3600, "1:00:00 h")]
)
def test_summary_clock_reads_as_people_say_it(seconds, text):
    assert clock(seconds) == text


def test_summary_recovery_counts_from_taking_out_to_the_next_bread_that_can_go_in():
    names = [("t_s", float), ("pv_c", float), ("setpoint_c", float), ("stage", "U12")]
    rows = np.zeros(1000, names)
    rows["t_s"], rows["pv_c"], rows["setpoint_c"] = np.arange(1000.0), 450.0, 450.0
    rows["stage"] = "recover"
    for first, last, stage in ((100, 190, "bake"), (330, 340, "load"), (340, 430, "bake"), (700, 1000, "cool")):
        rows["stage"][first:last] = stage
    events = [{"t_s": at_s, "kind": "load"} for at_s in (100.0, 340.0)]
    summary = summarise(rows, events)
    assert [one["recovery_s"] for one in summary["bread_list"]] == [140.0, None]
    assert summary["recovery_s"] == 140.0


def test_summary_setpoint_of_an_idle_board_is_not_that_of_the_evening(night):
    rows, events = night
    rows["setpoint_c"][:100], rows["state"][:100] = 480.0, "idle"
    assert summarise(rows, events)["setpoint_c"] == 450.0
    rows["state"] = ""  # a record without states: the rows in which a relay was on
    rows["heat_top"][:100] = rows["heat_deck"][:100] = 0
    assert summarise(rows, events)["setpoint_c"] == 450.0
    rows["state"] = "idle"
    rows["heat_top"] = rows["heat_deck"] = 0
    assert summarise(rows, events)["setpoint_c"] is None


def test_summary_breads_of_a_watched_board_are_told_by_its_stages(night):
    rows, events = night
    rows["stage"] = "recover"
    for load_s in (3600, 3900, 4200):
        rows["stage"][load_s : load_s + 90] = "bake"
    watched = [event for event in events if event["kind"] != "load"]
    summary = summarise(rows, watched)
    assert summary["breads"] == 3 and [one["t_s"] for one in summary["bread_list"]] == [3600.0, 3900.0, 4200.0]
    assert summary["overshoot_k"] == summarise(rows, events)["overshoot_k"]


def test_summary_holds_are_told_with_reason_and_length(night):
    rows, events = night
    told = [
        {"t_s": 2500.0, "kind": "state", "value": "running"},
        {"t_s": 2600.0, "kind": "state", "value": "held"},
        {"t_s": 2600.0, "kind": "hold", "value": "enable-open"},
        {"t_s": 2690.0, "kind": "state", "value": "running"},
        {"t_s": 2800.0, "kind": "state", "value": "held"},
        {"t_s": 2860.0, "kind": "state", "value": "running"},
    ]
    summary = summarise(rows, [*events, *told])
    assert summary["holds"] == 2
    first, second = summary["hold_list"]
    assert (first["t_s"], first["seconds"], first["reason"]) == (2600.0, 90.0, "enable-open")
    assert first["text"] == sentences()["enable-open"]
    assert (second["seconds"], second["reason"]) == (60.0, "") and "does not name" in second["text"]
    assert "Held at 43:20 min" in table(summary) and "for 1:30 min" in table(summary)


def test_summary_hold_is_seen_in_the_rows_where_no_event_tells(night):
    rows, events = night
    rows["state"][2600:2690] = "held"
    (one,) = summarise(rows, events)["hold_list"]
    assert (one["t_s"], one["seconds"]) == (2600.0, 90.0)


@pytest.mark.parametrize(("at_s", "missed"), [(8999, []), (9000, ["relay_welded_top@9000"])])
def test_summary_fault_that_never_came_is_told(night, at_s, missed):
    summary = summarise(*night, faults=[f"relay_welded_top@{at_s}"])
    assert summary["faults_missed"] == missed
    assert ("FAULT NEVER CAME" in table(summary)) == bool(missed)
