"""The proof of two boards as evidence of commissioning: of this board only, without a miss, of silicon only."""

import json

import pytest

from host.commissioning import bench
from host.commissioning.page import page
from host.commissioning.record import Record, RecordError
from host.files import kinds

GOOD = {
    "version": 1, "date": "20260105T1830", "board": "hall", "program": "0.2", "mark": "AB12", "mcu": "rp2040",
    "emulated": False, "faults": 43, "missed": [], "slowest_off_ms": 6600.0, "slowest_late_ms": 1200.4, "measures": {},
    "results": [],
}  # fmt: skip


@pytest.fixture
def record(tmp_path):
    made = Record.open(tmp_path / "record.json")
    made.bind("hall", "AB12", "0.2", False)
    return made


def written(tmp_path, **changes):
    path = tmp_path / "bench.json"
    kinds.write(path, json.dumps({**GOOD, **changes}, indent=1), kinds.BENCH_PROOF, force=True)
    return path


def test_bench_evidence_of_this_board_is_kept_and_shown(record, tmp_path):
    assert "not taken" in page(record.data)
    bench.take(record, written(tmp_path))
    again = Record.open(record.path)
    assert again.data["bench"]["faults"] == 43
    assert "43 faults at 3.3 V on 20260105, heat off within 1200 ms" in page(again.data)


def test_bench_evidence_of_a_board_that_has_changed_is_not_shown(record, tmp_path):
    bench.take(record, written(tmp_path))
    assert "not taken" in page({**record.data, "mark": "CD34"})


@pytest.mark.parametrize("changes, words", [
    ({"mark": "CD34"}, "another board"), ({"missed": ["dome_open"]}, "dome_open"), ({"faults": 0}, "no fault"),
    ({"emulated": True}, "emulated"), ({"version": 9}, "another version"),
])  # fmt: skip
def test_bench_evidence_that_is_none_is_refused_in_one_line(record, tmp_path, changes, words):
    with pytest.raises(RecordError, match=words) as caught:
        bench.take(record, written(tmp_path, **changes))
    assert "\n" not in str(caught.value) and "bench" not in record.data


def test_bench_evidence_from_a_foreign_or_damaged_file_is_refused(record, tmp_path):
    for text in ("", "{}", '{"tizzone": "proof on the bench", '):
        file = tmp_path / "other.json"
        file.write_text(text)
        with pytest.raises(RecordError):
            bench.take(record, file)
    with pytest.raises(RecordError):
        bench.take(record, tmp_path / "none.json")
