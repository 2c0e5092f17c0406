"""The practise page in a real browser: every text has contrast, nothing scrolls sideways, in each moment of a scene."""

import re

import pytest
from panel_bench import Kettle

from host.panel.practise import Practice
from host.panel.practise_page import CSS, PractisePage
from host.panel.scenes import SCENES
from tests.bench.looks import FAINT, OUTSIDE, SCHEMES, WIDE, WIDTHS
from tests.report.test_page import luminance

pytestmark = pytest.mark.slow

TEXT, EDGE = 4.5, 3.0  # WCAG 2.2: success criteria 1.4.3 (text) and 1.4.11 (edges of controls)


def ratio(one, other):
    """WCAG 2.2 contrast ratio."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_colours_of_the_page_have_contrast_light_and_dark():
    blocks = re.findall(r":root \{([^}]*)\}", CSS)
    assert len(blocks) == len(SCHEMES)
    for block in blocks:
        colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", block))
        assert ratio(colours["ink"], colours["ground"]) >= TEXT
        assert ratio(colours["edge"], colours["ground"]) >= EDGE
    glass = re.search(r"background: (#[0-9a-f]{6})", CSS)[1]
    assert ratio(glass, "#ffffff") >= TEXT  # the display's own points
    # nothing else on the page has a colour of its own
    assert set(re.findall(r"#[0-9a-f]{3,6}\b", CSS)) == {glass, *re.findall(r"--\w+: (#[0-9a-f]{6})", CSS)}


@pytest.fixture(scope="module")
def moments():
    """What the page shows at the beginning, with a question asked, and after a wrong answer: [(rows, words), ...]."""
    scene = Practice("first-heat", plant=Kettle(), settings={"setpoint_c": 100, "soak_min": 1})
    page = PractisePage()
    found = []
    try:
        for step in ("begun", "asked", "told"):
            if step == "asked":
                scene.scene, scene.trouble_s = SCENES["welded-relay"], scene.rehearsal.now_s
            if step == "told":
                scene.answer = 1
            scene.live(1)
            page.show(scene)
            found.append(page.server.seen)
        yield page, found
    finally:
        page.close()
        scene.close()


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("width", WIDTHS)
def test_page_fits_and_can_be_read_in_every_moment(browser, moments, width, scheme):
    page, found = moments
    for seen in found:
        page.server.seen = seen
        shown = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
        shown.goto(page.url)
        shown.wait_for_selector("#words:not(:text('loading'))")
        assert shown.evaluate(WIDE) <= width
        assert shown.evaluate(OUTSIDE) == []
        assert shown.evaluate(FAINT) == []
        shown.close()


@pytest.mark.parametrize(
    ("html", "is_found"),
    [
        ("<p style='color:#767676'>grey on white is 4.54 : 1</p>", False),
        ("<p style='color:#777'>grey on white is 4.48 : 1</p>", True),
        ("<div style='background:#000'><p style='color:#757575'>4.56 on black</p></div>", False),
        ("<div style='background:rgba(0,0,0,.5)'><p style='color:#999'>on half black</p></div>", True),
        ("<svg><rect width='200' height='80' fill='#111'/><text x='9' y='40' fill='#222'>dark</text></svg>", True),
        ("<svg><rect width='200' height='80' fill='#111'/><text x='9' y='40' fill='#fff'>light</text></svg>", False),
    ],
)
def test_check_of_contrast_finds_what_is_faint(browser, html, is_found):
    """#767676 is known as the lightest grey that passes on white (4.54 : 1)."""
    shown = browser.new_page()
    shown.set_content(html)
    assert bool(shown.evaluate(FAINT)) == is_found
    shown.close()
