"""`tizzone pins`: exit codes, JSON, picture, list; and no map, however odd, ends in a traceback."""

import json
import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pins_maps import text, values

from host import pins
from host.pins import drawing, pin_map, ticklist
from host.pins.board import NAMES
from tools.__main__ import main

SVG = "{http://www.w3.org/2000/svg}"


def test_command_clean_board_ends_with_0_and_says_the_counts(capsys):
    assert main(["pins", "boards/pico.py"]) == 0
    assert "0 stop, 0 change, 3 note" in capsys.readouterr().out


def test_command_wrong_board_ends_with_1_and_names_line_why_and_do(tmp_path, capsys):
    path = tmp_path / "mine.py"
    path.write_text(text(values("pico", HEAT_TOP=23)), encoding="utf-8")
    assert main(["pins", str(path)]) == 1
    out = capsys.readouterr().out
    assert re.search(r"stop +mine\.py:6 +HEAT_TOP: GP23 is not free", out)
    assert "why: it serves the power supply's mode on the Pico" in out and "do:  use GP0" in out


def test_command_json_carries_findings_and_wires(capsys):
    assert main(["pins", "esp32", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["mcu"], told["wanted_c"], told["counts"]["stop"]) == ("esp32", 480, 0)
    assert set(told["findings"][0]) == {"grade", "line", "code", "text", "source", "mend", "remedy"}
    assert {"HEAT_TOP", "PROBES.dome"} <= {wire["name"] for wire in told["wires"]}


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"import os\nos.remove('x')\n", "only assignments"),
        (b"HEAT_TOP = open('x').read()\n", "not a literal"),
        (b"HEAT_TOP: int = 10\n", "only assignments"),
        (b"(A, B) = 1, 2\n", "only assignments"),
        (b"A = (B, C) = 1, 2\n", "only assignments"),
        (b"A = {[]: 1}\n", "not a literal"),
        (b"HEAT_TOP = (\n", "not a pin map"),
        (b"\x00\x01\x02", "not a pin map"),
        (b"\xff\xfe\xfa", "not a pin map"),
        (b"A = " + b"(" * 5000, "not a pin map"),
        (b"A = 0x" + b"f" * 9000, "line 1: a number too large"),
        (b"A = [1, -1e400]", "line 1: a number too large"),
    ],
)
def test_command_unusable_file_ends_with_2_and_one_line(tmp_path, capsys, content, words):
    path = tmp_path / "mine.py"
    path.write_bytes(content)
    assert main(["pins", str(path)]) == 2
    error = capsys.readouterr().err
    assert words in error and error.count("\n") == 1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["nowhere.py"], "no board 'nowhere.py'"),
        (["boards"], "no board 'boards'"),
        (["pico", "--wanted", "29"], "30 to 530"),
        (["pico", "--wanted", "531"], "30 to 530"),
        (["pico", "--draw", "no/such/folder/x.svg"], "cannot be written"),
    ],
)
def test_command_wrong_use_ends_with_2_and_one_line(capsys, arguments, words):
    assert main(["pins", *arguments]) == 2
    error = capsys.readouterr().err
    assert words in error and error.count("\n") == 1


def test_command_never_runs_the_map(tmp_path, capsys):
    touched = tmp_path / "touched"
    path = tmp_path / "mine.py"
    path.write_text(f'NAME = open({str(touched)!r}, "w")\n', encoding="utf-8")
    assert main(["pins", str(path)]) == 2
    assert not touched.exists()


@pytest.mark.parametrize("board", ["pico", "pico2", "esp32", "esp32s3", "esp32c3", "bench"])
def test_picture_shows_every_pin_and_name_within_its_frame(board, tmp_path, capsys):
    path = tmp_path / "wiring.svg"
    assert main(["pins", board, "--wanted", "60", "--draw", str(path)]) == 0
    root = ET.parse(path).getroot()
    width, height = (float(root.get(key)) for key in ("width", "height"))
    words = [node.text for node in root.iter(f"{SVG}text")]
    shown = pins.usable_map(pin_map.read_source(board))
    for pin, uses in shown.uses.items():
        assert words.count(shown.gp(pin)) == 1
        assert all(name in words for name, role, _ in uses if role in ("contact", "heat", "fan"))
    for node in root.iter(f"{SVG}text"):
        size = {"s": 11, "b s": 12, "h": 18}.get(node.get("class"), 14)
        length = 0.58 * size * len(node.text)  # wide letters of a wide typeface
        start = float(node.get("x")) - {"start": 0, "middle": length / 2, "end": length}[node.get("text-anchor")]
        assert start >= -8 and start + length <= width + 8 and 0 < float(node.get("y")) < height, node.text
    for line in root.iter(f"{SVG}polyline"):
        for x, y in (point.split(",") for point in line.get("points").split()):
            assert 0 <= float(x) <= width and 0 <= float(y) <= height


def test_picture_marks_errors_and_draws_registers_and_panel(tmp_path):
    dome = {"chip": "max31856", "bus": {"spi": 0, "sck": 18, "miso": 16, "mosi": 19}, "cs": 17}
    panel = {"chip": "sh1106", "bus": {"i2c": 0, "sda": 20, "scl": 21}, "stop": 26}
    path = tmp_path / "mine.py"
    path.write_text(text(values("pico", PROBES={"dome": dome}, PANEL=panel, BUZZER=27, DOOR=23)), encoding="utf-8")
    root = ET.fromstring(drawing.picture(pins.usable_map(pin_map.read_source(path))))
    words = [node.text for node in root.iter(f"{SVG}text")]
    assert {"✗ GP23", "DI", "SDA", "SCL", "STOP", "BUZZER", "panel STOP", "dome DI"} <= set(words)
    assert not any(word.startswith("✗ GP") for word in words if word != "✗ GP23")
    assert any(word.startswith("✗ = the check found an error") for word in words)


@pytest.mark.parametrize("board", ["pico", "esp32", "esp32c3", "bench"])
def test_list_has_a_box_for_every_wire(board, capsys):
    assert main(["pins", board, "--wanted", "60", "--table"]) == 0
    boxes = [line for line in capsys.readouterr().out.splitlines() if line.startswith("[ ] ")]
    shown = pins.usable_map(pin_map.read_source(board))
    for pin, uses in shown.uses.items():
        assert sum(f" {shown.gp(pin)} " in line for line in boxes) == len(uses)
    heat = [line for line in boxes if line.startswith(("[ ] HEAT", "[ ] CONTACTOR ")) and " GP" in line]
    assert heat and all("to GND at its input" in line and "0 V off" in line for line in heat)


def test_list_tells_the_monostable_where_the_drive_is_pulses():
    shown = pins.usable_map(pin_map.read_source("esp32s3"))
    wires = {wire.name: wire for wire in ticklist.wires(shown) if wire.pin.startswith("GPIO")}
    assert "monostable" in wires["CONTACTOR"].to and "monostable" not in wires["HEAT_TOP"].to


ODD = ["\x00", "a\nb", '<&"', "\ud800"]
LEAF = st.one_of(
    st.sampled_from([None, True, False, {1, 2}, b"K", 1j, *ODD]),
    st.integers(-3, 60),
    st.floats(-1e6, 1e6),
    st.sampled_from(["K", "T", "pt100", "max31855", "max31865", "mcp9601", "ad849x", "pulse", "rp2040", "esp32c3", ""]),
    st.lists(st.integers(0, 9), max_size=2),
)
KEYS = st.sampled_from(
    [
        "chip",
        "type",
        "bus",
        "cs",
        "spi",
        "i2c",
        "adc",
        "sck",
        "miso",
        "mosi",
        "sda",
        "scl",
        "address",
        "rref_ohm",
        "hz",
        "a",
    ]
)
ENTRY = st.one_of(LEAF, st.dictionaries(KEYS, st.one_of(LEAF, st.dictionaries(KEYS, LEAF, max_size=5)), max_size=6))
PROBE_NAMES = st.sampled_from(["dome", "stone", "wall", "", "a.b", "\ud800", 3, None])
VALUE = st.one_of(LEAF, st.dictionaries(PROBE_NAMES, ENTRY, max_size=3), ENTRY)


@pytest.mark.slow
@settings(max_examples=150, deadline=None, derandomize=True)
@given(
    base=st.sampled_from(["pico", "esp32", "esp32c3"]),
    changes=st.dictionaries(st.sampled_from([*NAMES, "PROBES", "PANEL"]), VALUE, min_size=1, max_size=4),
    chip=ENTRY,
)
def test_check_drawing_and_list_take_any_literals(tmp_path_factory, base, changes, chip):
    names = values(base, **changes)
    if isinstance(names.get("PROBES"), dict) and isinstance(chip, dict):
        names["PROBES"] = {**names["PROBES"], "dome": chip}
    path = tmp_path_factory.getbasetemp() / "any.py"
    path.write_text(text(names), encoding="utf-8")
    board = pins.usable_map(pin_map.read_source(path))
    ET.fromstring(drawing.picture(board).encode("utf-8"))
    assert ticklist.table(board).encode("utf-8")
    for found in board.findings:
        for words in found.as_json().values():
            assert str(words).encode("utf-8") and "\n" not in str(words)
    code = main(["pins", str(path), "--json"])
    assert code == (1 if any(found.grade == "stop" for found in board.findings) else 0)
