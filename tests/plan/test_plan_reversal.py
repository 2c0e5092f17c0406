"""The way back: hours above rating from run files, counted once, kept whole."""

import json
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host.mains import ratings, reversal, sheet
from host.mains.example import EXAMPLE

HEADER = "t_s,dome_c,stone_c,pv_c,setpoint_c,out_pct,heat_top,heat_deck,permit,state,trip\n"
SHEET = sheet.check(tomllib.loads(EXAMPLE), "hall.toml")
GLASS = "Inner door glass"  # in the cavity, 500 degC


def rows(points):
    """CSV text of (t_s, dome_c) samples."""
    return HEADER + "".join(f"{t},{c},{c},{c},450,50,1,1,1,running,\n" for t, c in points)


def written(folder, points, name="club.csv", cut=0):
    """Path of a run file; the last `cut` characters are missing."""
    path = folder / name
    text = rows(points)
    path.write_text(text[: len(text) - cut], encoding="utf-8")
    return path


def test_reversal_hours_above_rating_are_counted_by_hand(tmp_path):
    # One hour at 520, one at 500 (at the rating: not above), one at 499, two at 501: 3 h.
    points = [(0, 520), (3600, 500), (7200, 499), (7201, 501), (14401, 501)]
    ledger = reversal.empty_ledger()
    words = reversal.add_run(ledger, SHEET, written(tmp_path, points))
    hours = ledger["hours_above_rating"][GLASS]
    # the interval 7200..7201 counts with its hotter end: one second more
    assert hours == pytest.approx((3600 + 1 + 7200) / 3600, abs=1e-5)
    assert words == ["club.csv: 5 lines"]


def test_reversal_a_run_counts_once(tmp_path):
    path = written(tmp_path, [(0, 520), (3600, 520)])
    ledger = reversal.empty_ledger()
    reversal.add_run(ledger, SHEET, path)
    again = reversal.add_run(ledger, SHEET, path)
    assert ledger["hours_above_rating"][GLASS] == pytest.approx(1.0)
    assert "already" in again[0]
    reversal.add_run(ledger, SHEET, written(tmp_path, [(0, 520), (3600, 521)], "next.csv"))
    assert ledger["hours_above_rating"][GLASS] == pytest.approx(2.0)
    assert len(ledger["runs"]) == 2


def test_reversal_parts_outside_the_cavity_see_their_share(tmp_path):
    # The gasket (wall, 0.6 of the rise, 550 degC) is never above it; tabs seen at 120 with 250:
    # share (120 - 22)/(250 - 22) = 0.4298, at 520 degC 236 degC: under 350.
    ledger = reversal.empty_ledger()
    reversal.add_run(ledger, SHEET, written(tmp_path, [(0, 520), (3600, 520)]))
    above = {name for name, hours in ledger["hours_above_rating"].items() if hours > 0}
    assert above == {GLASS}
    seen = ratings.expected_c("terminal", 520, 22, 120, 250)
    assert seen.number == pytest.approx(22 + 498 * 98 / 228)


@pytest.mark.parametrize("cut", [1, 3, 20, 40])
def test_reversal_cut_file_is_read_to_its_last_whole_line_with_a_word(tmp_path, cut):
    points = [(60 * i, 520) for i in range(61)]
    path = written(tmp_path, points, cut=cut)
    found, words = reversal.read_run(path)
    assert len(found) == path.read_text(encoding="utf-8").count("\n") - 1
    assert any("cut" in word for word in words)


def test_reversal_run_folder_is_read_like_its_file(tmp_path):
    written(tmp_path, [(0, 500), (60, 510)], "run.csv")
    assert reversal.read_run(tmp_path)[0] == [(0.0, 500.0), (60.0, 510.0)]


def test_reversal_unknown_temperature_falls_back_to_the_process_value(tmp_path):
    path = tmp_path / "run.csv"
    path.write_text(
        HEADER + "0,,1,515,450,0,0,0,0,idle,\n10,,1,,450,0,0,0,0,idle,\n"
        "20,400,1,505,450,0,0,0,0,idle,\n", encoding="utf-8",
    )  # fmt: skip
    found, words = reversal.read_run(path)
    assert found == [(0.0, 515.0), (20.0, 505.0)]
    assert words == ["1 lines without a temperature left out"]


@pytest.mark.parametrize("text", ["", "a,b\n1,2\n", HEADER + "x,1,1,1,1,1,1,1,1,idle,\n" + HEADER])
def test_reversal_foreign_file_is_one_line_and_changes_nothing(tmp_path, text):
    path = tmp_path / "foreign.csv"
    path.write_text(text, encoding="utf-8")
    ledger = reversal.empty_ledger()
    try:
        reversal.add_run(ledger, SHEET, path)
    except reversal.RunError as error:
        assert "\n" not in str(error)
        assert ledger == reversal.empty_ledger()
    else:
        assert set(ledger["hours_above_rating"].values()) == {0.0}


def test_reversal_ledger_survives_and_a_damaged_one_is_refused(tmp_path):
    path = tmp_path / "hall.ledger.json"
    assert reversal.load_ledger(path) == reversal.empty_ledger()
    ledger = reversal.empty_ledger()
    reversal.add_run(ledger, SHEET, written(tmp_path, [(0, 520), (60, 520)]))
    reversal.save_ledger(path, ledger)
    assert reversal.load_ledger(path) == ledger
    whole = path.read_text(encoding="utf-8")
    for damaged in (whole[:-30], "[]", "{}", json.dumps({"runs": {}, "hours_above_rating": [1]})):
        path.write_text(damaged, encoding="utf-8")
        with pytest.raises(reversal.RunError, match="not a whole ledger"):
            reversal.load_ledger(path)


def test_reversal_exposed_parts_are_those_that_stay_each_once():
    names = [name for name, *_ in reversal.exposed(SHEET)]
    assert len(names) == len(set(names))
    assert GLASS in names and "Cut-out on the rear wall" in names
    assert not {"Original bulb thermostat's sensor", "Cavity lamp, 300 degC", "No door lock"} & {*names}


def test_reversal_sheet_names_wires_changes_and_parts_above_their_rating():
    found = reversal.sheet_of(SHEET, reversal.empty_ledger())
    assert [wire["from"] for wire in found["moved_wires"]][0] == "original selector switch 2"
    assert {part["decision"] for part in found["changed_parts"]} == {"moved", "removed"}
    assert found["above_rating_at_limit"] == []
    text = EXAMPLE.replace("rated_c = 500", "rated_c = 480")
    hot = reversal.sheet_of(sheet.check(tomllib.loads(text), "x"), reversal.empty_ledger())
    assert [part["name"] for part in hot["above_rating_at_limit"]] == [GLASS]
    assert hot["above_rating_at_limit"][0]["expected"]["number"] == 490


PLACE = st.sampled_from(sorted(ratings.PLACES))
HOT = st.floats(22, 550)


@given(PLACE, HOT, st.floats(0, 100), st.floats(40, 600))
def test_reversal_hotter_runs_never_count_fewer_hours(place, dome, more, rated):
    part = {"place": place}
    cool = reversal.hours_above([(0, dome), (3600, dome)], rated, part, SHEET)
    warm = reversal.hours_above([(0, dome + more), (3600, dome)], rated, part, SHEET)
    assert warm >= cool


@given(PLACE, HOT, st.floats(0, 100), st.floats(-5, 40))
def test_ratings_hotter_cavity_or_room_is_never_cooler_for_a_part(place, cavity, more, room):
    base = ratings.expected_c(place, cavity + 20, room).number
    assert ratings.expected_c(place, cavity + 20 + more, room).number >= base - 1e-9
    assert ratings.expected_c(place, cavity + 20 + more, room + 1).number >= base - 1e-9
