"""Display and bus: both chips by their real bytes, faults that never touch control, pictures as files."""

import copy
import struct
import xml.etree.ElementTree as ET
import zlib

import numpy as np
import pytest
from panel_bench import app_of, evening, glyphs, heat, read

from host.chips.oled import FakeOled
from host.panel import view
from host.pins import pin_map
from host.shim.loader import world

OLED = world().load("tizzone.panel.display")


class Wire:
    """An I2C bus with one display on it."""

    def __init__(self, display):
        self.display = display

    def writeto(self, address, data):
        assert address == 0x3C
        self.display.i2c_write(bytes(data))


def sent(chip, picture, turned=False):
    """(display, pixels) after set-up and all pages."""
    display, pixels = FakeOled(chip), bytearray(np.packbits(
        picture.reshape(8, 8, 128).transpose(0, 2, 1), axis=2, bitorder="little").tobytes())  # fmt: skip
    oled = OLED.Oled(Wire(display), 0x3C, chip, pixels, turned)
    assert oled.setup()
    assert all(oled.send(page) for page in range(8))
    return display


@pytest.fixture(scope="module")
def picture():
    return np.random.default_rng(3).random((64, 128)) < 0.4


@pytest.fixture(scope="module")
def heating():
    rehearsal, hand = evening()
    rehearsal.send("start")
    rehearsal.advance(5)
    return rehearsal, hand


@pytest.mark.parametrize("chip", OLED.CHIPS)
def test_glass_shows_every_point_and_the_chip_knows_every_command(chip, picture):
    display = sent(chip, picture)
    assert not display.wrong
    assert (display.image() == picture).all()
    assert (sent(chip, picture, turned=True).image() == picture[::-1, ::-1]).all()
    assert max(display.transfers) <= 129


@pytest.mark.parametrize(("chip", "other"), [("ssd1306", "sh1106"), ("sh1106", "ssd1306")])
def test_wrong_chip_name_is_seen_by_the_fake(chip, other, picture):
    display = FakeOled(other)
    oled = OLED.Oled(Wire(display), 0x3C, chip, bytearray(1024))
    oled.setup()
    assert display.wrong
    assert not display.is_lit


def test_unknown_chip_is_refused_in_one_line():
    with pytest.raises(ValueError, match="chip must be one of"):
        OLED.Oled(None, 0x3C, "ssd1307", bytearray(1024))
    with pytest.raises(ValueError, match="no display chip"):
        FakeOled("ssd1307")


def test_display_is_dark_before_its_set_up():
    assert not FakeOled("sh1106").image().any()


def test_both_chips_show_the_same_evening(tmp_path, heating):
    text = (pin_map.BOARDS / "pico_panel.py").read_text(encoding="utf-8").replace("sh1106", "ssd1306")
    path = tmp_path / "pico_panel.py"
    path.write_text(text, encoding="utf-8")
    rehearsal, hand = evening(board=path)
    rehearsal.send("start")
    rehearsal.advance(5)
    assert not rehearsal.outside.display.wrong
    assert hand.image().any()
    assert (hand.image() == heating[1].image()).all()


def test_ticks_stay_even_whatever_a_hand_does(heating):
    """Control is told the time by its ticks alone: 250 ms each, as without a panel."""
    rehearsal, hand = copy.deepcopy(heating)
    app, ticks = app_of(rehearsal), []
    tick = app._tick
    app._tick = lambda dt_ms: (ticks.append(dt_ms), tick(dt_ms))[1]
    for _ in range(4):
        hand.turn(5, click_ms=30)
        hand.push()
        hand.turn(-3, click_ms=24)
        hand.push()
    assert len(ticks) > 30
    assert set(ticks) == {250}


def _with_or_without(board):
    from panel_bench import Kettle

    from host.simulator.rehearsal import Rehearsal

    rehearsal = Rehearsal(Kettle(), board, {"setpoint_c": 100, "soak_min": 1}, cook=None)
    rehearsal.advance(5)
    return rehearsal, app_of(rehearsal).panel


def test_board_without_a_panel_waits_in_one_sleep_a_tick():
    rehearsal, panel = _with_or_without("boards/pico.py")
    assert panel is None
    port = rehearsal.board.port
    sleeps, plain = [], port.sleep_us
    port.sleep_us = lambda us: (sleeps.append(us), plain(us))[1]
    rehearsal.advance(2.5)
    assert len([us for us in sleeps if us > 20_000]) == 10
    assert sum(sleeps) == pytest.approx(2_500_000, abs=250_000)


@pytest.mark.slow
def test_display_that_fails_is_tried_again_and_comes_back(heating):
    rehearsal, hand = copy.deepcopy(heating)
    undisturbed, _ = copy.deepcopy(heating)
    display, panel = rehearsal.outside.display, app_of(rehearsal).panel
    display.set_fault("silent")
    rehearsal.advance(20)
    tries = panel.errors
    assert 5 <= tries <= 12  # one try in two seconds: a stuck bus costs 50 ms each
    display.restart()  # it had no supply meanwhile
    display.set_fault(None)
    rehearsal.advance(5)
    assert panel.errors == tries
    lines = read(hand.image(), glyphs(rehearsal.world))
    assert lines[0].startswith("ready in")
    undisturbed.advance(25)
    same = min(len(rehearsal.rows), len(undisturbed.rows))
    for name in ("pv_c", "out_pct", "heat_top", "state"):
        assert (rehearsal.rows[name][:same] == undisturbed.rows[name][:same]).all()


@pytest.mark.slow
def test_display_that_lost_its_settings_has_them_again_within_a_minute(heating):
    rehearsal, hand = copy.deepcopy(heating)
    rehearsal.outside.display.restart()
    rehearsal.advance(62)
    assert read(hand.image(), glyphs(rehearsal.world))[0].startswith("ready in")


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["OSError", "RuntimeError"])
def test_error_on_the_bus_ends_nothing(heating, kind):
    rehearsal, hand = copy.deepcopy(heating)
    for _ in range(10):
        rehearsal.outside.orders.append(["fail", "i2c", kind])
        rehearsal.advance(3)
    assert rehearsal.state == "running"
    assert app_of(rehearsal).panel.errors
    rehearsal.advance(5)
    assert hand.image().any()


def test_fault_of_a_picture_ends_no_evening_and_stop_still_stops(heating):
    rehearsal, hand = copy.deepcopy(heating)
    panel = app_of(rehearsal).panel
    panel.menu.mode = 99  # nothing that it could draw
    panel.menu.lines = None
    rehearsal.advance(3)
    assert (rehearsal.state, rehearsal.trip) == ("running", "none")
    assert "TypeError" in panel.fault
    assert read(hand.image(), glyphs(rehearsal.world))[0].startswith("panel fault")
    hand.press_stop()
    assert heat(rehearsal) == [0, 0]
    rehearsal.advance(3)
    assert read(hand.image(), glyphs(rehearsal.world))[0].startswith("let it cool")


def test_one_piece_of_work_is_one_page_or_one_band(heating):
    rehearsal, hand = copy.deepcopy(heating)
    panel, display = app_of(rehearsal).panel, rehearsal.outside.display
    work, draw, pieces, drawn = panel.draw_piece, panel.canvas.draw, [], []

    def counted():
        before, bands = len(display.transfers), len(drawn)
        work()
        pieces.append((len(display.transfers) - before, sum(display.transfers[before:]), len(drawn) - bands))

    panel.draw_piece = counted
    panel.canvas.draw = lambda number, band: (drawn.append(number), draw(number, band))[1]
    hand.turn(2)
    hand.push()
    assert drawn
    assert max(pieces) <= (2, 133, 1)
    assert all(not (transfers and bands) for transfers, _, bands in pieces)


def test_png_is_read_back_point_by_point(picture):
    data = view.png(picture, scale=2)
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    width, height, depth, colour = struct.unpack(">IIBB", data[16:26])
    assert (width, height, depth, colour) == (272, 144, 8, 0)
    at = data.index(b"IDAT")
    (size,) = struct.unpack(">I", data[at - 4 : at])
    assert struct.unpack(">I", data[at + 4 + size : at + 8 + size])[0] == zlib.crc32(data[at : at + 4 + size])
    rows = np.frombuffer(zlib.decompress(data[at + 4 : at + 4 + size]), np.uint8).reshape(144, 273)
    assert not rows[:, 0].any()
    assert ((rows[8:136:2, 9:265:2] == view.LIT) == picture).all()


def test_svg_and_text_hold_the_lit_points(picture):
    root = ET.fromstring(view.svg(picture))
    path = root[1].get("d")
    assert sum(int(run.split("h")[1].split("v")[0]) for run in path.split("M")[1:]) == picture.sum()
    lines = view.text(picture).split("\n")
    assert (len(lines), len(lines[0])) == (32, 128)
