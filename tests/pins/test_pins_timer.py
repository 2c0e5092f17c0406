"""The dead-man's timer: rp2 has only the virtual one (-1), the ESP32 family numbers its own (from memory)."""

import pins_maps
import pytest

from host.pins import check


@pytest.mark.parametrize(
    ("board", "value", "grade"),
    [
        ("pico", pins_maps.REMOVE, None),
        ("pico", -1, None),
        ("pico", 0, "stop"),
        ("pico", True, "stop"),
        ("esp32", pins_maps.REMOVE, "change"),
        ("esp32", 0, None),
        ("esp32", -1, "stop"),
        ("esp32s3", -1, "stop"),
        ("esp32c3", 1, None),
        ("esp32c3", 2, "stop"),
        ("esp32", 3, None),
        ("esp32", 4, "stop"),
        ("esp32", -2, "stop"),
        ("esp32", "0", "stop"),
    ],
)
def test_pins_timer_that_the_chip_lacks_is_found(board, value, grade, tmp_path):
    path = tmp_path / "map.py"
    path.write_text(pins_maps.text(pins_maps.values(board, DEADMAN_TIMER=value)), encoding="utf-8")
    assert [f.grade for f in check(path) if f.code == "DEADMAN_TIMER"] == ([grade] if grade else [])


def test_pins_timer_of_an_unknown_chip_is_not_judged(tmp_path):
    path = tmp_path / "map.py"
    path.write_text(pins_maps.text(pins_maps.values("pico", MCU="rp9999", DEADMAN_TIMER=7)), encoding="utf-8")
    assert [f for f in check(path) if f.code == "DEADMAN_TIMER"] == []
