"""Pages on a phone and on paper, in a real browser: a figure keeps its line, nothing is cut, colours have contrast."""

import re

import pytest

from host.drill.page import page as drill_page
from host.page.style import PLAN, REPORT
from host.runs import picture
from host.runs.report import page, summarise
from tests.bench.looks import BROKEN, OUTSIDE, WIDE
from tools.__main__ import main

pytestmark = pytest.mark.slow

CONTRAST = 4.5  # WCAG 2.2, success criterion 1.4.3, normal text
MARGIN_PX = 2 * 14 / 25.4 * 96  # of @page, CSS pixels of 1/96 inch (CSS Values 4)
PAPER = {"A4": 210 / 25.4 * 96, "Letter": 8.5 * 96}  # ISO 216 and ANSI/ASME Y14.1


@pytest.fixture
def text(night):
    """The page of a night with a trip."""
    rows, events = night
    events.append({"t_s": 5200.0, "kind": "trip", "text": "Dome above the high limit."})
    return page(rows, events, summarise(rows, events), "Club night", ["standard oven"], ["cut in line 9"])


@pytest.mark.parametrize("width", [320, 390, 768, 1280])
def test_report_at_any_width_keeps_each_figure_on_its_line(browser, text, width):
    shown = browser.new_page(viewport={"width": width, "height": 900})
    shown.set_content(text)
    assert shown.evaluate(BROKEN) == []
    assert shown.evaluate(OUTSIDE) == []
    assert shown.evaluate(WIDE) <= width
    assert shown.locator("td.figure").count() > 15
    shown.close()


def test_check_of_broken_figures_finds_one(browser, text):
    shown = browser.new_page(viewport={"width": 320, "height": 900})
    shown.set_content(text.replace("</style>", "td.figure { width: 1ch !important; overflow-wrap: anywhere }</style>"))
    assert shown.evaluate(BROKEN)
    shown.close()


@pytest.mark.parametrize("paper", PAPER)
def test_report_fits_the_paper(browser, text, paper):
    width = int(PAPER[paper] - MARGIN_PX)
    shown = browser.new_page(viewport={"width": width, "height": 1000})
    shown.set_content(text)
    shown.emulate_media(media="print")
    assert shown.evaluate(WIDE) <= width
    assert shown.locator("svg.wide").is_visible() and not shown.locator("svg.narrow").is_visible()
    pdf = shown.pdf(format=paper)
    assert pdf.startswith(b"%PDF") and len(pdf) > 10_000
    shown.close()


def test_drill_page_without_a_case_says_so_and_fits(browser):
    shown = browser.new_page(viewport={"width": 320, "height": 900})
    shown.set_content(drill_page([], "2026-03-14 19:30"))
    assert "Drilled on 2026-03-14 19:30" in shown.text_content("body")
    assert "0 cases" in shown.text_content("body")
    assert shown.evaluate(WIDE) <= 320
    shown.close()


@pytest.mark.parametrize("width", [320, 390])
def test_diagram_of_the_plan_scrolls_in_its_frame_with_letters_that_can_be_read(browser, width, tmp_path, capsys):
    sheet, file = tmp_path / "hall.toml", tmp_path / "plan.html"
    assert main(["plan", "--example", str(sheet)]) == 0
    assert main(["plan", str(sheet), "--quick", "--page", str(file), "--ledger", str(tmp_path / "ledger.json")]) == 0
    shown = browser.new_page(viewport={"width": width, "height": 900})
    shown.goto(file.as_uri())
    assert shown.evaluate(WIDE) <= width
    assert shown.locator(".scroll svg").count() == shown.locator("svg").count() >= 1
    # the least that is usual for text on a phone (common practice, no source); the drawing's own units, scaled
    smallest_px = shown.evaluate("""() => Math.min(...[...document.querySelectorAll('svg text')].map((text) =>
      parseFloat(getComputedStyle(text).fontSize) * text.getScreenCTM().a))""")
    assert smallest_px >= 10
    shown.close()


def luminance(colour):
    """Relative luminance of '#rrggbb' or '#rgb' as WCAG 2.2 defines it."""
    digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
    parts = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    """WCAG 2.2 contrast ratio."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_texts_and_lines_have_the_contrast_of_wcag():
    blocks = re.findall(r":root \{([^}]*)\}", REPORT)
    assert len(blocks) == 3  # light, dark, print
    for block in blocks:
        colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{3,6})", block))
        for ink in ("ink", "soft"):
            assert contrast(colours[ink], colours["ground"]) >= CONTRAST, block
    for name, (colour, _, _) in picture.LINES.items():
        assert contrast(colour, picture.PAPER) >= CONTRAST, name
    assert contrast("#000", "#fff") == pytest.approx(21.0)  # WCAG 2.2: the ratio's range is 1 to 21
    assert "color: #000; background: #fff" in PLAN


# Brettel, Vienot and Mollon 1997 as simplified by Vienot, Brettel and Mollon 1999 (linear RGB), from memory.
BLIND = {
    "protan": ((0.11238, 0.88762, 0.0), (0.11238, 0.88762, 0.0), (0.00401, -0.00401, 1.0)),
    "deutan": ((0.29275, 0.70725, 0.0), (0.29275, 0.70725, 0.0), (-0.02234, 0.02234, 1.0)),
}


def test_lines_are_told_apart_without_colour():
    dashes = [str(dash) for _, dash, _ in picture.LINES.values()]
    assert len(set(dashes)) == len(dashes)


@pytest.mark.parametrize("kind", BLIND)
def test_dome_and_stone_differ_for_the_colour_blind(kind):
    def seen(colour):
        parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return [sum(a * b for a, b in zip(row, linear, strict=True)) for row in BLIND[kind]]

    one, other = (seen(picture.LINES[name][0]) for name in ("dome", "stone"))
    assert max(abs(a - b) for a, b in zip(one, other, strict=True)) > 0.05
