"""The chart of two runs: axes with units, a text alternative, colours that the colour-blind tell apart, and more than
colour."""

import re
from itertools import pairwise

import numpy as np
import pytest

from host.runs import both, compare, notes, picture
from host.runs.recording import Run, write_run
from host.runs.summary import summarise
from tests.report.test_page import Tags, luminance
from tools.__main__ import main

pytestmark = pytest.mark.slow

NAMES = ("may", "june")
# Machado, Oliveira, Fernandes 2009, severity 1.0, on linear RGB (from memory).
BLIND = {
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritan": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}


@pytest.fixture
def runs(make_evening):
    """Two evenings that differ."""
    made = [make_evening(breads=3, seed=1), make_evening(breads=2, setpoint_c=350.0, seconds=7000, seed=2)]
    return tuple(Run(rows, events, None, []) for rows, events in made)


@pytest.fixture
def svg(runs):
    """The wide chart."""
    return both.draw(NAMES, runs)


@pytest.mark.parametrize("shape", ["wide", "narrow"])
def test_chart_names_its_axes_with_units_and_each_line_at_its_end(runs, shape):
    svg = both.draw(NAMES, runs, shape)
    for words in ("temperature, °C", "output of A, %", "output of B, %", "minutes since the first heat",
                  "A dome", "B dome", "A stone", "B stone"):  # fmt: skip
        assert len(re.findall(rf">\s*{re.escape(words)}\s*</text>", svg)) == 1, words


def test_chart_is_told_in_words_for_who_listens(svg):
    told = re.search(r'aria-label="([^"]*)"', svg)[1]
    assert 'role="img"' in svg
    assert "A, may: 150 minutes, dome up to 454 degrees C" in told and "3 breads" in told
    assert "B, june: 117 minutes" in told and "2 breads" in told


def test_lines_are_told_apart_by_dash_and_width_and_not_by_colour_alone():
    (_, one, filled), (_, other, open_) = both.LOOKS
    assert one == "solid" and other != "solid"
    assert filled != open_ == "none"
    assert both.WIDTHS["dome"] >= 1.5 * both.WIDTHS["stone"]


def linear(colour):
    """Linear RGB of #rrggbb, IEC 61966-2-1."""
    parts = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def lab(rgb):
    """CIELAB (CIE 15) of linear sRGB, white D65."""
    xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]) @ rgb
    ratio = xyz / np.array([0.9505, 1.0, 1.089])
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(np.maximum(ratio, 0)), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.mark.parametrize("kind", ["normal", *BLIND])
def test_colours_of_the_runs_stay_apart_for_the_colour_blind(kind):
    """CIE76 difference of at least 20: about ten times what is just seen (2.3, Mahy et al. 1994, from memory)."""
    seen = [linear(look[0]) for look in both.LOOKS]
    if kind != "normal":
        seen = [np.clip(np.array(BLIND[kind]) @ rgb, 0, 1) for rgb in seen]
    one, other = (lab(rgb) for rgb in seen)
    assert np.linalg.norm(one - other) >= 20


@pytest.mark.parametrize("look", both.LOOKS)
def test_colours_of_the_names_have_contrast(look):
    # WCAG 2.1, success criterion 1.4.3: at least 4.5 : 1
    assert (luminance(picture.PAPER) + 0.05) / (luminance(look[0]) + 0.05) >= 4.5


def test_runs_are_laid_over_each_other_at_their_first_heat(runs):
    rows = runs[1].rows.copy()
    rows["heat_top"][:600] = rows["heat_deck"][:600] = 0
    assert both.first_heat_s(rows) == 600.0
    assert both.first_heat_s(runs[0].rows) == 0.0
    rows["heat_top"] = rows["heat_deck"] = 0
    assert both.first_heat_s(rows) == 0.0
    minutes, _ = both.lines_of(Run(rows, [], None, []), "C")
    assert minutes[0] == 0.0


def test_values_in_the_chart_are_those_of_the_record(runs):
    _, celsius = both.lines_of(runs[0], "C")
    _, fahrenheit = both.lines_of(runs[0], "F")
    assert np.allclose(celsius["dome"], runs[0].rows["pv_c"])
    assert np.allclose(fahrenheit["stone"], runs[0].rows["stone_c"] * 1.8 + 32)  # NIST SP 811, B.8
    assert "temperature, °F" in both.draw(NAMES, runs, unit="F")


def test_page_holds_chart_figures_and_notes_of_both_and_reaches_nowhere(runs):
    lines = compare.beside(*(summarise(run.rows, run.events) for run in runs))
    text = compare.page(NAMES, lines, runs, ([notes.Note(60.0, "dough <62> %", "a")], [notes.Note(None, "salt", "a")]))
    tags = Tags(text)
    assert tags.open == [] and len(set(tags.ids)) == len(tags.ids)
    assert all(link.startswith("#") for link in tags.links)
    assert text.count("<svg ") == 2
    parts = [text.index(words) for words in ("<svg ", "Time to setpoint", "Notes of A: may", "dough &lt;62&gt; %",
                                             "Notes of B: june", "salt", "licensed electrician")]  # fmt: skip
    assert all(one < other for one, other in pairwise(parts))


def test_run_without_rows_or_stone_has_no_chart_or_no_line(runs):
    empty = Run(runs[0].rows[:0], [], None, [])
    assert both.draw(NAMES, (empty, runs[1])) is None
    assert "No chart" in compare.chart(NAMES, (runs[0], empty), "C")
    rows = runs[0].rows.copy()
    rows["stone_c"] = np.nan
    svg = both.draw(NAMES, (Run(rows, [], None, []), runs[1]))
    assert "A stone" not in svg and "B stone" in svg


def test_command_writes_the_page_into_the_current_folder(tmp_path, runs, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name, run in zip(NAMES, runs, strict=True):
        write_run(tmp_path / "runs" / name, run.rows[::20], run.events)
    assert main(["report", "runs/may", "runs/june"]) == 0
    assert "page: may-and-june.html" in capsys.readouterr().out
    assert "<svg " in (tmp_path / "may-and-june.html").read_text(encoding="utf-8")
    (tmp_path / "may-and-june.html").write_text("mine", encoding="utf-8")
    assert main(["report", "runs/may", "runs/june"]) == 2
    assert (tmp_path / "may-and-june.html").read_text(encoding="utf-8") == "mine"
