"""Each wrong map gets its finding, and whoever follows the advice is rid of it."""

import re

import pytest
from pins_maps import line_of, put, text, values
from pins_wrong import CASES

from host import pins

ADVICE = re.compile(r"use (?:GPIO|GP)(\d+)$")


def label(case):
    """A test's name."""
    board, _, _, grade, name, words, _ = case
    return f"{board}-{grade}-{name}-{words}".replace(" ", "_")


def findings(path, names, wanted_c):
    """The check of a map with these names, and its text."""
    written = text(names)
    path.write_text(written, encoding="utf-8")
    return pins.check(path, wanted_c), written


def test_wrong_maps_are_many_and_all_different():
    assert len({label(case) for case in CASES}) >= 120


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES, ids=label)
def test_check_wrong_map_gets_its_finding(tmp_path, case):
    board, changes, wanted_c, grade, name, words, also = case
    names = values(board, **changes)
    found, written = findings(tmp_path / "map.py", names, wanted_c)
    matching = [one for one in found if one.grade == grade and one.code == name and words in one.text]
    assert len(matching) == 1, [(one.grade, one.code, one.text) for one in found]
    assert matching[0].line == line_of(written, name)
    assert matching[0].source and matching[0].mend
    errors = {one.code for one in found if one.grade == "stop"}
    assert errors == ({name} if grade == "stop" else set()) | also

    advice = ADVICE.search(matching[0].mend)
    if advice and "to wire" not in matching[0].mend and name != "PROBES":
        path = name if name.count(".") != 1 and not name.endswith(".bus") else missing_key(name, matching[0].mend)
        mended = put(names, path, int(advice[1]))
        after, _ = findings(tmp_path / "map.py", mended, wanted_c)
        assert not [one for one in after if one.code == name and one.text == matching[0].text]
        assert {one.code for one in after if one.grade == "stop"} <= errors - {path} | also


def missing_key(name, do):
    """The entry that an advice "mosi: use GP19" about a probe or its bus names."""
    found = re.match(r"(?:name )?(\w+): use", do)
    return f"{name}.{found[1]}" if found else name


@pytest.mark.parametrize(
    ("board", "value"), [("pico", 8388), ("pico", 1000), ("pico2", 8388), ("esp32", 8388), ("esp32c3", 1000)]
)
def test_check_watchdog_at_its_bounds_is_accepted(tmp_path, board, value):
    found, _ = findings(tmp_path / "map.py", values(board, WATCHDOG_MS=value), 480)
    assert not [one for one in found if one.code == "WATCHDOG_MS"]


@pytest.mark.parametrize(("wanted_c", "grades"), [(379, set()), (380, set()), (381, {"stop"})])
def test_check_probe_range_needs_the_margin_of_the_high_limit(tmp_path, wanted_c, grades):
    """Type T on a MAX31855 is stated up to 400 °C; the high limit stands 20 K above the setpoint."""
    found, _ = findings(tmp_path / "map.py", values("pico", dome__type="T"), wanted_c)
    assert {one.grade for one in found if one.code == "PROBES.dome"} == grades


@pytest.mark.parametrize(
    ("lines", "name", "line", "first"),
    [
        ("ENABLE = 14\n", "ENABLE", 1, 0),
        ('PROBES = {"dome": {"chip": "max31855",\n "bus": {"spi": 0, "sck": 18, "miso": 16}, "cs": 17,\n "cs": 20}}\n',
         "PROBES.dome.cs", 3, 2),
    ],
)  # fmt: skip
def test_check_name_assigned_twice_is_an_error_at_the_second(tmp_path, lines, name, line, first):
    base = text(values("pico"))
    path = tmp_path / "map.py"
    path.write_text(base + lines, encoding="utf-8")
    found = [one for one in pins.check(path) if one.code == name and "assigned twice" in one.text]
    offset = base.count("\n")
    assert [(one.grade, one.line) for one in found if one.line > offset] == [("stop", offset + line)]
    said = offset + first if first else line_of(base, name)
    assert f"line {said})" in found[-1].text


def test_check_every_error_of_a_map_is_told_at_once(tmp_path):
    changes = {"HEAT_TOP": 23, "ENABLE": 99, "WATCHDOG_MS": 9000, "dome__type": "T", "stone__cs": 3}
    found, _ = findings(tmp_path / "map.py", values("pico", **changes), 480)
    errors = {one.code for one in found if one.grade == "stop"}
    assert errors == {"HEAT_TOP", "ENABLE", "WATCHDOG_MS", "PROBES.dome", "PROBES.stone.cs"}
    assert [one.grade for one in found] == sorted((one.grade for one in found), key=pins.GRADES.index)


def test_check_free_pins_are_offered_to_one_name_each(tmp_path):
    found, _ = findings(tmp_path / "map.py", values("pico", HEAT_TOP=23, HEAT_DECK=24, ENABLE=25, DOOR=29), 480)
    offered = [ADVICE.search(one.mend)[1] for one in found if one.grade == "stop"]
    assert len(offered) == len(set(offered)) == 4
