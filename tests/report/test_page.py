"""The page: one file, no network, every figure in it, readable at any width, in print and without colour."""

import re
import sys
from html import escape
from html.parser import HTMLParser

import numpy as np
import pytest

from host.runs import picture
from host.runs.report import FIGURES, page, summarise

pytestmark = pytest.mark.slow

VOID = {"meta", "br", "link", "img", "path", "use", "rect", "stop"}


class Tags(HTMLParser):
    """Balanced tags, ids, and whatever could reach out of the file."""

    def __init__(self, text):
        super().__init__()
        self.open, self.ids, self.links = [], [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.take(attrs)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.take(attrs)

    def handle_endtag(self, tag):
        if tag not in VOID:
            assert self.open.pop() == tag

    def take(self, attrs):
        for name, value in attrs:
            if name == "id":
                self.ids.append(value)
            if name in ("src", "href", "xlink:href", "srcset", "data", "action"):
                self.links.append(value)


@pytest.fixture
def text(night):
    """The page of a night with a trip."""
    rows, events = night
    events.append({"t_s": 5200.0, "kind": "trip", "text": "Dome above the <high> limit."})
    return page(rows, events, summarise(rows, events), "Club & night", ["standard oven"], ["cut in line 9"])


def test_page_is_one_whole_file_that_reaches_nowhere(text):
    tags = Tags(text)
    assert tags.open == []
    assert all(link.startswith("#") for link in tags.links)
    assert len(set(tags.ids)) == len(tags.ids)
    assert {link[1:] for link in tags.links} <= set(tags.ids)
    assert {name[1:] for name in re.findall(r"url\((#[^)]*)\)", text)} <= set(tags.ids)
    assert "<script" not in text and "@import" not in text
    # the only addresses are the names of SVG's own vocabularies
    assert set(re.findall(r"https?://[\w./]*", text)) <= {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"}
    assert len(text) < 400_000


def test_page_has_every_figure_trip_event_and_word(text):
    for words, _, _, definition in FIGURES.values():
        assert f'<th scope="row">{words}</th>' in text
        assert escape(definition) in text
    assert "TRIP at 1:26:40 h: Dome above the &lt;high&gt; limit." in text
    assert "Club &amp; night" in text and "standard oven" in text and "cut in line 9" in text
    assert "bread 3 bake_s 90" in text
    assert "<high>" not in text
    assert "licensed electrician" in text


def test_page_picture_names_its_lines_in_text_and_gives_each_its_own_dash(text):
    for shape in ("wide", "narrow"):
        svg = re.search(rf'<svg class="{shape}".*?</svg>', text, re.DOTALL).group()
        for word in ("dome", "stone", "setpoint", "output, %", "top", "deck", "TRIP", "minutes"):
            assert re.search(rf">\s*{word}\s*</text>", svg), word
        assert 'role="img"' in svg and "viewBox" in svg
    dashes = [str(dash) for _, dash, _ in picture.LINES.values()]
    assert len(set(dashes)) == len(dashes)


def luminance(colour):
    """Relative luminance, WCAG 2.1 definition."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("colour", [picture.INK, "#5a5348", *(line[0] for line in picture.LINES.values())])
def test_page_text_colours_keep_the_contrast_for_small_print(colour):
    # WCAG 2.1, success criterion 1.4.3: at least 4.5 : 1
    assert (luminance(picture.PAPER) + 0.05) / (luminance(colour) + 0.05) >= 4.5


def test_page_without_matplotlib_has_the_table_and_says_how_to_get_the_picture(night, monkeypatch):
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    text = page(*night, summarise(*night))
    assert "<svg" not in text
    assert text.count("matplotlib is missing") == 1
    assert "Time to setpoint" in text
    assert Tags(text).open == []


def test_page_of_the_same_run_is_the_same_file(night):
    assert page(*night, summarise(*night)) == page(*night, summarise(*night))


def test_page_of_an_empty_run_says_so(night):
    rows = night[0][:0]
    text = page(rows, [], summarise(rows, []))
    assert "the record holds no row" in text and "None recorded" in text and "No trip." in text


@pytest.mark.parametrize("count", [1, 2, 50, 901])
def test_page_short_and_partly_dead_records_are_drawn(night, count):
    rows, events = night
    rows = rows[:count].copy()
    rows["stone_c"] = np.nan
    rows["pv_c"][0] = np.nan
    text = page(rows, events, summarise(rows, events))
    assert text.count("<svg ") == 2


def test_page_true_dome_is_drawn_only_where_it_leaves_the_reading(night):
    rows, events = night
    assert "dash-dot" not in picture.draw(rows, events)
    rows["dome_c"][3000:3100] += 40
    assert "dash-dot" in picture.draw(rows, events)


def test_picture_thinning_keeps_every_extreme():
    random = np.random.default_rng(7)
    values = random.normal(450, 1, 20_000)
    values[12_345], values[777] = 620.0, 3.0
    at, kept = picture.thin(np.arange(20_000.0), values)
    assert len(at) == len(kept) <= picture.POINTS
    assert kept.max() == 620.0 and kept.min() == 3.0
    assert at[np.argmax(kept)] == pytest.approx(12_345, abs=20_000 / picture.POINTS * 2)
    short = np.arange(5.0)
    assert picture.thin(short, short) == (short, short)


def test_page_leaves_routine_events_out_and_counts_them(night):
    rows, events = night
    routine = [{"t_s": 9.0, "kind": "cook", "text": "~ok"}, {"t_s": 1.0, "kind": "hold", "value": "none"}]
    told = {"t_s": 8.0, "kind": "cook", "text": "~no not-idle"}
    text = page(rows, [*events, *routine, told], summarise(rows, events))
    assert "2 routine events are left out" in text
    assert "~no not-idle" in text and "~ok" not in text


def test_picture_is_saved_as_png_for_other_pages(night, tmp_path):
    assert picture.save(tmp_path / "night.png", *night, form="png")
    assert (tmp_path / "night.png").read_bytes().startswith(b"\x89PNG")
    assert not picture.save(tmp_path / "none.png", night[0][:0], [], form="png")
