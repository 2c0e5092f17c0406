"""The page in a real browser: values move, stop works where it was allowed, nothing else ever does."""

import json
import re
import urllib.error
import urllib.request

import pytest
from watch_boards import Ticking, Unplugged, simulated

from host.link import LinkError
from host.watch.page import CSS, HTML
from host.watch.serve import Page
from host.watch.watcher import Watcher

pytestmark = pytest.mark.slow

WIDTHS = (320, 390, 768, 1024, 1400)
CONTRAST = 4.5  # WCAG 2.2, success criterion 1.4.3, normal text


class Shown:
    """A watched board, its page and the server."""

    def __init__(self, may_stop=False, client=None):
        self.client = client or simulated()
        self.watcher = Watcher(lambda: self.client, self.client, wall=Ticking(0.001))
        self.page = Page(self.watcher, 0, may_stop)

    def live(self, seconds, rounds=2):
        for _ in range(rounds):
            self.client.wait(seconds / rounds)
            self.watcher.poll()


@pytest.fixture
def shown():
    made = []

    def make(*arguments):
        made.append(Shown(*arguments))
        return made[-1]

    yield make
    for one in made:
        one.page.close()


def ask(url, data=None, **headers):
    """(code, text, headers) of a plain request."""
    request = urllib.request.Request(url, data, headers)
    try:
        with urllib.request.urlopen(request, timeout=60) as reply:
            return reply.status, reply.read().decode(), reply.headers
    except urllib.error.HTTPError as error:
        return error.code, error.read().decode(), error.headers


def until(page, selector, pattern):
    """Wait until an element's text matches; the page's policy forbids evaluated conditions."""
    from playwright.sync_api import expect

    expect(page.locator(selector)).to_have_text(re.compile(pattern), timeout=60_000)


def open_page(browser, url, width=1024, height=900):
    """A browser page that collects every complaint and every address it asked for."""
    page = browser.new_page(viewport={"width": width, "height": height})
    page.complaints, page.asked = [], []
    page.on("console", lambda message: page.complaints.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: page.complaints.append(str(error)))
    page.on("request", lambda request: page.asked.append(request.url))
    page.goto(url)
    until(page, "#pv", "[0-9]")
    return page


def test_values_update_and_nothing_comes_from_outside(browser, shown):
    board = shown()
    board.client.ask("start")
    board.live(20)
    page = open_page(browser, board.page.url)
    first = float(page.text_content("#pv"))
    assert first == pytest.approx(board.watcher.view["status"]["pv_c"], abs=0.5)
    board.live(120, 24)
    now = f"{board.watcher.view['status']['pv_c']:.0f}"
    until(page, "#pv", f"^{now}$")
    assert float(now) > first + 10
    assert page.text_content("#top") == "ON" and page.text_content("#contactor") == "CLOSED"
    assert "running" in page.text_content("#state") and page.text_content("#link") == "live"
    assert page.text_content("#stuck").startswith("limit in ")
    assert page.get_attribute("#pvline", "d").count("L") >= 20
    assert page.locator("#permissives li.good").count() == 11
    assert {url.split("/")[2] for url in page.asked if not url.startswith("data:")} == {board.page.url.split("/")[2]}
    assert page.complaints == []
    page.close()


def test_stop_button_takes_the_heat_off_when_allowed(browser, shown, monkeypatch):
    monkeypatch.setattr("host.watch.serve.STOP_S", 60.0)  # this laptop may be busy
    board = shown(True)
    board.client.ask("start")
    board.live(30)
    page = open_page(browser, board.page.url)
    page.wait_for_selector("#stop", state="visible")
    page.click("#stop")
    for _ in range(6000):  # the request arrives when it does; the watcher's next round sends it
        if board.watcher.waiting:
            break
        page.wait_for_timeout(10)
    board.watcher.poll()
    assert board.client.rehearsal.state == "stopping"
    until(page, "#said", "the board says: ok")
    until(page, "#state", "^stopping")
    page.close()


def test_read_only_page_offers_nothing_and_its_server_refuses(browser, shown):
    board = shown()
    board.client.ask("start")
    board.live(10)
    page = open_page(browser, board.page.url)
    assert not page.is_visible("#stop") and page.is_visible("#readonly")
    assert page.locator("form, input, textarea, select, a").count() == 0
    page.evaluate("() => document.getElementById('stop').click()")  # hidden, but a script could
    until(page, "#said", "refused")
    code, text, _ = ask(board.page.url + "stop", b"", **{"X-Act": "stop"})
    assert (code, "only shows" in text) == (403, True)
    board.live(2)
    assert board.client.rehearsal.state == "running" and not board.watcher.waiting
    page.close()


def test_page_leads_with_what_to_do_and_draws_axes_stone_and_breads(browser, shown):
    board = shown(False, simulated({"setpoint_c": 100, "soak_min": 0, "bake_s": 600}))
    board.client.rehearsal.cook = None  # nobody lays a bread but this test
    board.client.ask("start")
    board.live(60, 12)
    page = open_page(browser, board.page.url, 390)
    until(page, "#do", "^ready in$")
    for _ in range(400):
        board.live(5)
        if board.watcher.view["status"]["stage"] == "load":
            break
    until(page, "#do", "^LAY BREAD 1$")
    assert page.text_content("#when") == "say: it is in"
    assert "now" in page.get_attribute("#cue", "class")
    board.client.ask("loaded")
    board.live(4)
    until(page, "#do", "^out in$")
    words = " ".join(page.locator("#axes text").all_text_contents())
    assert "\u00b0C" in words and "minutes" in words and "now" in words and "bread 1" in words
    assert page.get_attribute("#stoneline", "d").count("L") >= 5
    assert "degrees C" in page.get_attribute("#plot", "aria-label")
    assert {"header", "main", "footer"} <= set(page.evaluate("[...document.body.children].map(e => e.localName)"))
    page.click("#sound")
    until(page, "#sound", "^sound: on$")
    assert page.complaints == []
    page.close()


@pytest.mark.parametrize("act", ["start", "setpoint", "acknowledge", "resume", "state.json", ""])
def test_no_other_act_has_a_path_even_when_stop_is_allowed(shown, act):
    board = shown(True)
    code, _, _ = ask(board.page.url + act, b"450", **{"X-Act": "stop"})
    assert code == 404 and not board.watcher.waiting


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"X-Act": "start"},
        {"X-Act": "stop", "Origin": "http://elsewhere.example"},
        {"X-Act": "stop", "Host": "elsewhere.example"},
    ],
)
def test_stop_from_another_page_is_refused(shown, headers):
    board = shown(True)
    code, _, _ = ask(board.page.url + "stop", b"", **headers)
    assert code == 403 and not board.watcher.waiting


def test_server_is_bound_to_this_laptop_and_checks_the_host_name(shown):
    board = shown()
    assert board.page.server.server_address[0] == "127.0.0.1"
    code, text, _ = ask(board.page.url + "state.json", Host="rebound.example")
    assert code == 403 and "pv_c" not in text
    code, text, headers = ask(board.page.url + "state.json")
    assert code == 200 and json.loads(text)["may_stop"] is False
    assert "Access-Control-Allow-Origin" not in headers
    policy = headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy and "unsafe" not in policy
    assert ask(board.page.url + "../../etc/passwd")[0] == 404


def test_taken_port_number_is_told(shown):
    board = shown()
    with pytest.raises(LinkError, match="cannot be used"):
        Page(board.watcher, board.page.server.server_address[1])


def test_trip_and_lost_link_are_told_in_words(browser, shown):
    plug = Unplugged(simulated(faults=["dome_open@30"]))
    board = shown(False, plug)
    plug.ask("start")
    board.live(40)
    page = open_page(browser, board.page.url)
    page.wait_for_selector("#trip", state="visible")
    assert page.text_content("#trip") == "TRIP probe open"
    assert page.text_content("#do") == "trip: Dome probe is open."
    assert "Check the probe's screws" in page.text_content("#when")
    assert "a trip stands: read the trip" in page.text_content("#permissives li.bad")
    plug.is_out = True
    board.watcher.poll()
    until(page, "#link", "^OLD VALUES")
    board.page.close()
    until(page, "#link", "no longer answers")
    page.close()
    board.page = Page(board.watcher)


def test_page_fits_every_width_and_is_pictured(browser, shown, tmp_path):
    board = shown(True, simulated({"setpoint_c": 250}))
    board.client.ask("start")
    board.live(500, 50)
    board.client.rehearsal.outside.door(60)
    board.live(2)
    for width in WIDTHS:
        page = open_page(browser, board.page.url, width)
        page.wait_for_selector("#permissives li.bad")
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        outside = page.evaluate(
            "[...document.querySelectorAll('main *, header *')].filter(e => e.offsetParent !== null && "
            "(e.getBoundingClientRect().right > innerWidth + 0.5 || e.getBoundingClientRect().left < -0.5)).length"
        )
        assert outside == 0
        assert page.locator("#stop").bounding_box()["height"] >= 44  # WCAG 2.2, 2.5.5 target size, in CSS pixels
        page.screenshot(path=tmp_path / f"page-{width}.png", full_page=True)
        assert (tmp_path / f"page-{width}.png").stat().st_size > 10_000
        page.close()


def luminance(colour):
    """Relative luminance of '#rrggbb' as WCAG 2.2 defines it."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    """WCAG 2.2 contrast ratio."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_formula_agrees_with_the_published_extremes():
    assert contrast("#ffffff", "#000000") == pytest.approx(21.0)  # WCAG 2.2, definition of contrast ratio: 1 to 21
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)  # the lightest AA grey on white, well known


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_text_colour_has_the_contrast_of_wcag(scheme):
    blocks = re.findall(r":root \{([^}]*)\}", CSS)
    assert len(blocks) == 2
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", blocks[scheme == "dark"]))
    for text in ("ink", "soft", "bad", "good", "stone"):
        for ground in ("ground", "card"):
            assert contrast(colours[text], colours[ground]) >= CONTRAST, (text, ground)
    assert contrast(colours["card"], colours["bad"]) >= CONTRAST


def test_markup_has_no_inline_script_style_or_outside_address():
    assert not re.search(r"<script(?![^>]*src=)|\sstyle=|\son\w+=|https?://", HTML)
    assert "url(" not in CSS and "@import" not in CSS
