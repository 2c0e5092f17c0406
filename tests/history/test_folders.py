"""Folders with damaged and foreign things in them; wear by count; calibration records over months."""

import json
from datetime import datetime

import pytest

from host.history.folders import read_history, stamp
from host.history.records import changes, drifted
from host.history.text import wear_lines
from host.history.wear import counts, lives_of, wear
from host.runs.recording import RecordingError


@pytest.fixture
def mixed(folder, tmp_path):
    """Two good runs, one cut, one damaged, one foreign CSV, a folder of pictures, a stray file."""
    names = sorted(path.name for path in folder.iterdir() if path.is_dir())
    for name in names[:4]:
        (tmp_path / name).mkdir()
        for part in ("run.csv", "events.jsonl", "summary.json"):
            (tmp_path / name / part).write_bytes((folder / name / part).read_bytes())
    cut = tmp_path / names[2] / "run.csv"
    cut.write_bytes(cut.read_bytes()[:-30])
    lines = (tmp_path / names[3] / "run.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    lines[40] = "what,is,this\n"
    (tmp_path / names[3] / "run.csv").write_text("".join(lines), encoding="utf-8")
    (tmp_path / "logger").mkdir()
    (tmp_path / "logger" / "run.csv").write_text("time;temp\n1;2\n", encoding="utf-8")
    (tmp_path / "pictures").mkdir()
    (tmp_path / "shopping.csv").write_text("flour\n", encoding="utf-8")
    (tmp_path / "broken.json").write_bytes(b"{\xff")
    return tmp_path


def test_damaged_and_foreign_are_skipped_with_a_word_each(mixed):
    history = read_history(mixed)
    assert [evening["name"] for evening in history.evenings] == [f"2026030{k}-190000-hall" for k in (1, 2, 3)]
    assert history.evenings[2]["remarks"] != []
    words = "\n".join(history.skipped)
    assert len(history.skipped) == 5
    assert "20260304-190000-hall: skipped (line 41" in words and "logger: skipped (not a run of ours" in words
    assert "pictures: skipped" in words and "shopping.csv: skipped" in words and "broken.json: skipped" in words


def test_meters_typed_in_stored_or_recorded_are_found_and_absurd_ones_are_not(mixed):
    first, second, third = (mixed / f"2026030{k}-190000-hall" for k in (1, 2, 3))
    (first / "measured.json").write_text('{"mains_v": 229, "current_a": 12.4}', encoding="utf-8")
    (second / "summary.json").write_text('{"mains_v": 2290, "current_a": true}', encoding="utf-8")
    lines = (third / "run.csv").read_text(encoding="utf-8").splitlines()[:-1]
    (third / "run.csv").write_text(
        "\n".join([lines[0] + ",mains_v", *(line + ",231.5" for line in lines[1:])]) + "\n", encoding="utf-8"
    )
    evenings = read_history(mixed).evenings
    assert [(evening["mains_v"], evening["current_a"]) for evening in evenings] == [
        (229.0, 12.4),
        (None, None),
        (231.5, None),
    ]


def test_since_leaves_out_what_was_before(mixed):
    assert len(read_history(mixed, datetime(2026, 3, 2)).evenings) == 2


def test_missing_folder_is_one_line(tmp_path):
    with pytest.raises(RecordingError, match="no such folder"):
        read_history(tmp_path / "none")


@pytest.mark.parametrize("text,when", [
    ("20260314-193005-hall", datetime(2026, 3, 14, 19, 30, 5)), ("2026-03-14T19:30", datetime(2026, 3, 14, 19, 30)),
    ("2026-03-14", datetime(2026, 3, 14)), ("evening 7", None), ("20261399", None),
])  # fmt: skip
def test_stamp_in_a_name(text, when):
    assert stamp(text) == when


def relay_evenings(each, count, counters=None):
    """`count` evenings of `each` switchings."""
    return [{"name": f"evening {k}", "top_switchings": each, "deck_switchings": None, "contactor_switchings": 2,
             "counters": counters} for k in range(count)]  # fmt: skip


@pytest.mark.parametrize("count,found", [(84, []), (85, ["top_worn"]), (99, ["top_worn"])])
def test_relay_life_by_count_just_below_at_and_above(count, found):
    # 1000 an evening: 85 % of 100,000 after 85 evenings; 84 evenings leave 16, one more than is called near
    assert [one.code for one in wear(relay_evenings(1000, count), {"top": 100_000})] == found


def test_relay_count_of_the_board_wins_over_the_records():
    (one,) = counts(relay_evenings(1000, 3, {"top": 70_000, "deck": 1, "contactor": 5}), {"top": 100_000})
    assert one["used"] == 70_000 and one["exact"] and one["evenings_left"] == 30


def test_solid_state_relay_has_a_count_and_no_life():
    top, contactor = counts(relay_evenings(1000, 99))
    assert top["used"] == 99_000 and top["life"] is None and top["evenings_left"] is None
    assert contactor["life"] == 1_000_000 and wear(relay_evenings(1000, 99)) == []


@pytest.mark.parametrize("used,left,is_more", [(999_000, 1000, False), (998_999, 1000, True), (13, 1000, True)])
def test_evenings_left_are_never_told_more_exactly_than_anybody_can_know(used, left, is_more):
    evening = {"name": "one", "contactor_switchings": 1, "counters": {"contactor": used}}
    (one,) = counts([evening], {"contactor": 1_000_000})
    assert (one["evenings_left"], one["is_more"]) == (left, is_more)
    (words,) = wear_lines([one])
    assert ("more than 1,000 evenings" in words) == is_more and "999" not in words.partition("an evening")[2]


def test_lives_of_the_parts_in_a_build_sheet():
    sheet = {"relays": {"top": {"kind": "ssr"}, "deck": {"kind": "relay"}}, "contactor": {"fitted": True}}
    assert lives_of(sheet) == {"top": 0, "deck": 100_000, "contactor": 1_000_000}
    sheet = {"relays": {"top": {"kind": "relay", "operations": 30_000.0}, "deck": {"kind": "contactor"}}}
    assert lives_of({**sheet, "contactor": {"fitted": False}}) == {"top": 30_000, "deck": 1_000_000}


def calibration(month, boil_k, probe="K 3 mm", u_k=0.6):
    """A settings file's content with one record."""
    return {"calibration_record": {"dome": {"date": f"2026-{month:02d}-01", "probe": probe, "u_points_k": {"boil": u_k},
            "points": [["boil", 99600, round(99600 - 1000 * boil_k)]]}}}  # fmt: skip


def test_calibration_records_over_months_tell_a_drift(tmp_path):
    for month, boil_k in ((1, 0.5), (3, 1.0), (6, 2.4)):
        (tmp_path / f"settings-{month}.json").write_text(json.dumps(calibration(month, boil_k)), encoding="utf-8")
    records = read_history(tmp_path).records
    (one,) = changes(records)
    assert one["change_k"] == pytest.approx(1.9) and one["expanded_k"] == pytest.approx(0.6 * 2**0.5)
    assert one["per_year_k"] == pytest.approx(1.9 / 151 * 365.25)
    (finding,) = drifted(records)
    assert finding.code == "dome_probe_drift" and "+1.9 K" in finding.evidence[0] and finding.since == "2026-01-01"


def test_calibration_within_its_uncertainty_or_of_another_probe_is_no_drift(tmp_path):
    kept = {"a": calibration(1, 0.5), "b": calibration(6, 1.3), "c": calibration(7, 9.0, "another")}
    for name, content in kept.items():
        (tmp_path / f"{name}.json").write_text(json.dumps(content), encoding="utf-8")
    assert drifted(read_history(tmp_path).records) == []
