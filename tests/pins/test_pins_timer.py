"""The dead-man's timer: rp2 has only the virtual one (-1), the ESP32 family numbers its own (from memory)."""

import pins_maps
import pytest

from host.pins import check


@pytest.mark.parametrize(
    ("board", "value", "grade"),
    [
        ("pico", pins_maps.REMOVE, None),
        ("pico", -1, None),
        ("pico", 0, "error"),
        ("pico", True, "error"),
        ("esp32", pins_maps.REMOVE, "warning"),
        ("esp32", -1, None),
        ("esp32", 3, None),
        ("esp32", 4, "error"),
        ("esp32", -2, "error"),
        ("esp32", "0", "error"),
    ],
)
def test_timer_that_the_chip_lacks_is_found(board, value, grade, tmp_path):
    path = tmp_path / "map.py"
    path.write_text(pins_maps.text(pins_maps.values(board, DEADMAN_TIMER=value)), encoding="utf-8")
    assert [f.grade for f in check(path) if f.name == "DEADMAN_TIMER"] == ([grade] if grade else [])
