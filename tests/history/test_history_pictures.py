"""Pictures of a history: curves with their uncertainty, words for who cannot see them, ids of their own."""

import re
from datetime import datetime
from xml.etree import ElementTree

import numpy as np
import pytest

from host.calibration import picture as curve
from host.history import calibration_plot, plot
from host.history.folders import read_history
from host.history.shift import evening_cov, matrix
from host.runs.picture import PAPER
from tools.__main__ import main

pytest.importorskip("matplotlib", reason="extra view")


def record(month, boil_k, ice_k, u_k=0.6):
    points = {"boil": (boil_k, u_k), "ice": (ice_k, None)}
    return {"probe": "dome", "identity": "K 3 mm", "date": datetime(2026, month, 1), "points": points}


RECORDS = [record(1, 0.5, 0.2), record(3, 1.0, 0.3), record(6, 2.4, 0.5)]


@pytest.mark.parametrize("shape", ["wide", "narrow"])
def test_calibrations_are_drawn_with_units_bars_and_words(shape):
    svg = calibration_plot.draw(RECORDS, shape)
    ElementTree.fromstring(svg)
    words = re.search(r'aria-label="([^"]*)"', svg)[1]
    assert "dome at boil +1.9 K from 2026-01-01 to 2026-06-01, uncertain by 0.8 K" in words
    assert "correction, K" in svg and "dome K 3 mm boil" in svg and 'role="img"' in svg
    assert len(re.findall(r'id="[^"]*LineCollection_\d+"', svg)) == 4  # the bars of both points, and in the legend


def test_calibrations_that_were_never_repeated_have_no_picture():
    assert calibration_plot.draw(RECORDS[:1]) is None
    assert calibration_plot.draw([]) is None


@pytest.mark.parametrize("shape", ["wide", "narrow"])
def test_evenings_are_drawn_with_the_band_in_which_one_scatters(folder, shape):
    evenings = read_history(folder).evenings
    svg = plot.draw(evenings, [], 450, shape)
    ElementTree.fromstring(svg)
    words = re.search(r'aria-label="([^"]*)"', svg)[1]
    scatter = np.sqrt(np.diag(evening_cov(matrix(evenings, 450))))
    preheat_pct = 100 * (np.exp(2 * scatter[0]) - 1)
    assert f"one evening scatters by {preheat_pct:.0f} %" in words
    assert "hatched: where one evening scatters (k = 2)" in svg and "% of the first evenings" in svg


@pytest.mark.slow
def test_page_of_a_history_has_each_id_once(folder, tmp_path, capsys):
    from host.history import command, page

    history, found, remarks, used = command.run(folder)
    history.records = RECORDS
    text = page.page(history, found, remarks, used, "Evenings")
    ids = re.findall(r'\bid="([^"]+)"', text)
    assert text.count("<svg") == 4 and len(ids) == len(set(ids))


def test_calibration_picture_shows_curve_band_and_points_in_words_too(tmp_path, capsys):
    said = [
        "--ice",
        "0.5",
        "--boil",
        "98.9",
        "--pressure-hpa",
        "1002",
        "--out",
        str(tmp_path / "cal"),
        "--date",
        "2026-03-01",
    ]
    assert main(["calibrate", *said]) == 0
    svg = (tmp_path / "cal" / "calibration.svg").read_text(encoding="utf-8")
    ElementTree.fromstring(svg)
    assert "reading of the probe, °C" in svg and "correction, K" in svg and "what remains uncertain (k = 2)" in svg
    assert "nothing was compared here" in svg  # beyond boiling water
    told = re.search(r'aria-label="([^"]*)"', svg)[1]
    assert "2026-03-01" in told and re.search(
        r"At 450 °C the correction is \+0\.8 K and stays uncertain by \d+\.\d K", told
    )
    out = capsys.readouterr().out
    assert re.search(r"at 450 °C +\+- *(\d+\.\d)", out)[1] == re.search(r"uncertain by (\d+\.\d)", told)[1]


def luminance(colour):
    """Relative luminance of WCAG 2.2."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_every_line_has_contrast_and_a_look_of_its_own_without_colour():
    paper = luminance(PAPER)
    colours = [colour for _, _, colour in calibration_plot.LOOKS] + [curve.INK, curve.CURVE, curve.BAND, plot.BAND]
    assert min((paper + 0.05) / (luminance(colour) + 0.05) for colour in colours) >= 4.5  # WCAG 2.2, 1.4.3
    assert len({mark for mark, _, _ in calibration_plot.LOOKS}) == len(calibration_plot.LOOKS)
