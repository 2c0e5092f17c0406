"""Pictures of every page at four widths, light and dark, and what does not fit: one command, a real browser.

    python -m tests.bench.looks FOLDER [page.html ...]

Without pages it makes them first: report, record and comparison of rehearsed evenings, their history, a drill of two
faults, a plan, the live page and the hall's in their moments, practise. Needs Chromium and playwright (extra test).
Ends with 1 if anything scrolls sideways, is cut, or has less contrast than 4.5 : 1.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

from host.faults import library
from host.link.client import SimulatedClient
from host.panel.practise import Practice
from host.panel.practise_page import PractisePage
from host.simulator.rehearsal import Rehearsal
from host.watch.hall import Hall
from host.watch.serve import Page
from host.watch.watcher import Watcher

WIDTHS = (320, 390, 768, 1280)
SCHEMES = ("light", "dark")
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
# What sticks out of the window, but for what may be scrolled within its own frame.
OUTSIDE = """() => [...document.querySelectorAll('body *')].filter((e) => {
  const box = e.getBoundingClientRect();
  return e.offsetParent !== null && !e.closest('.scroll, .wide-table, svg') && box.width > 0
    && (box.right > innerWidth + 0.5 || box.left < -0.5);
}).map((e) => e.localName + '.' + e.className + ' ' + e.textContent.trim().slice(0, 30)).slice(0, 5)"""
# Figures that are broken into more than one line.
BROKEN = """() => [...document.querySelectorAll('td.figure, .first dd')].filter((e) => {
  const range = document.createRange();
  range.selectNodeContents(e);
  return e.offsetParent !== null && new Set([...range.getClientRects()].map((b) => Math.round(b.top))).size > 1;
}).map((e) => e.textContent.trim().slice(0, 40)).slice(0, 5)"""
# Texts whose contrast with what lies behind them is below 4.5 : 1 (WCAG 2.2, success criterion 1.4.3), as rendered.
FAINT = """() => {
  const over = (top, below) => [0, 1, 2].map((i) => top[i] * top[3] + below[i] * (1 - top[3]));
  const light = (c) => { const [r, g, b] = c.map((v) => v / 255)
    .map((v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const paint = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
  const rgba = (css) => { paint.clearRect(0, 0, 1, 1); paint.fillStyle = css; paint.fillRect(0, 0, 1, 1);
    const [r, g, b, a] = paint.getImageData(0, 0, 1, 1).data; return [r, g, b, a / 255]; };
  const behind = (e) => {
    const layers = [];
    const svg = e.closest('svg');
    if (svg && e.localName !== 'svg') {
      const box = e.getBoundingClientRect(), x = box.x + box.width / 2, y = box.y + box.height / 2;
      const shapes = [...svg.querySelectorAll('path, rect, circle')].filter((s) => {
        const b = s.getBoundingClientRect();
        return getComputedStyle(s).fill !== 'none' && !s.closest('defs, clipPath')
          && (s.compareDocumentPosition(e) & 4) && b.x <= x && x <= b.right && b.y <= y && y <= b.bottom;
      });
      for (const s of shapes.reverse()) layers.push(rgba(getComputedStyle(s).fill));
    }
    for (let up = svg || e; up; up = up.parentElement) layers.push(rgba(getComputedStyle(up).backgroundColor));
    layers.push([255, 255, 255, 1]);
    return layers.reduceRight((below, top) => over(top, below), [255, 255, 255]);
  };
  const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const text = walk.currentNode.data.trim(), e = walk.currentNode.parentElement;
    if (!text || /^(script|style|title|desc)$/.test(e.localName)) continue;
    if (!e.checkVisibility({ opacityProperty: true })) continue;
    const css = getComputedStyle(e), back = behind(e);
    const ink = over(rgba(e.closest('svg') ? css.fill : css.color), back);
    const [high, low] = [light(ink), light(back)].sort((a, b) => b - a);
    const ratio = (high + 0.05) / (low + 0.05);
    if (ratio < 4.5) found.push(text.slice(0, 30) + ' ' + ratio.toFixed(2) + ' : 1');
  }
  return found.slice(0, 5);
}"""
TALL = "() => document.documentElement.scrollHeight"
WIDE = "() => document.documentElement.scrollWidth"


def launched(playwright):
    """A headless Chromium; RuntimeError where there is none."""
    path = os.environ.get("CHROMIUM") or next(filter(None, map(shutil.which, NAMES)), None)
    if path is None:
        raise RuntimeError("no Chromium on this machine: install it, or set CHROMIUM to its path")
    return playwright.chromium.launch(executable_path=path, args=["--no-sandbox", "--disable-gpu"])


def looked(browser, name, url, folder, ready=None):
    """[(name, width, scheme, fault), ...] of one page; its pictures go to `folder`."""
    found = []
    for width in WIDTHS:
        for scheme in SCHEMES:
            page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
            page.goto(url)
            if ready:
                page.wait_for_selector(ready)
            page.wait_for_timeout(300)
            if page.evaluate(WIDE) > width:
                found.append((name, width, scheme, f"scrolls sideways: {page.evaluate(WIDE)} px"))
            found += [(name, width, scheme, f"cut: {one}") for one in page.evaluate(OUTSIDE)]
            found += [(name, width, scheme, f"figure in two lines: {one}") for one in page.evaluate(BROKEN)]
            found += [(name, width, scheme, f"contrast: {one}") for one in page.evaluate(FAINT)]
            tall = page.evaluate(TALL)
            page.screenshot(path=folder / f"{name}-{width}-{scheme}.png", full_page=tall < 8000)
            print(f"{name:14} {width:5} {scheme:5} {tall:6} px tall")
            page.close()
    return found


def made(folder):
    """Pages that are files: {name: path}."""
    run = [sys.executable, "-m", "tools"]
    evening, drill, sheet, runs = folder / "evening", folder / "drill", folder / "hall.toml", folder / "runs"
    for old in (evening, drill, runs):
        shutil.rmtree(old, ignore_errors=True)
    sheet.unlink(missing_ok=True)
    for words in (
        ["rehearse", "--breads", "3", "--fault", "dome_open@5200", "--out", evening],
        ["rehearse", "--breads", "2", "--out", runs / "may"],
        ["rehearse", "--breads", "2", "--oven", "heavy", "--setpoint", "350", "--out", runs / "june"],
        ["note", evening, "dough 62 %"], ["note", evening, "third one torn", "--at", "1:12:40"],
        ["note", runs / "june", "more salt, and a dough that was two hours in the cold"],
        ["report", evening], ["report", runs / "may", runs / "june", "--out", folder / "two.html"],
        ["evening", evening, "--photo", "2:second.jpg", "--photo", "table.jpg", "--page", folder / "kept.html"],
        ["report", "--history", runs, "--out", folder / "history.html"],
        ["drill", "--fault", "dome_open", "--fault", "relay_welded_top", "--oven", "standard", "--out", drill],
        ["plan", "--example", sheet], ["plan", sheet, "--quick", "--page", folder / "plan.html"],
    ):  # fmt: skip
        done = subprocess.run(
            [*run, *map(str, words), *FORCE.get(words[0], [])], check=False, capture_output=True, text=True
        )
        if done.returncode == 2:
            raise RuntimeError(done.stderr.strip())
    pages = {"report": evening / "report.html"}
    pages |= {name: folder / f"{name}.html" for name in ("two", "kept", "history", "plan")}
    pages |= {f"drill{n}": path for n, path in enumerate(sorted(drill.glob("*.html")))}
    return {name: path for name, path in pages.items() if path.is_file()}


# May be run again into the same folder.
FORCE = {"evening": ["--force"], "report": ["--force"]}


def live(browser, folder):
    """The live page in its moments: on this laptop, in the hall, tripped, in Fahrenheit, and with the link lost."""
    rehearsal = Rehearsal(settings={"setpoint_c": 120, "soak_min": 0, "bake_s": 200}, cook=None)
    client = SimulatedClient(rehearsal)
    watcher = Watcher(lambda: client, client, wall=lambda: 0.0)  # nothing grows old while a picture is taken
    rehearsal.advance(5)
    client.ask("start")
    page, hall = Page(watcher, may_stop=True), Hall(watcher, address="127.0.0.1")  # which stands in for the hall's
    found = []
    with contextlib.closing(page), contextlib.closing(hall), contextlib.closing(rehearsal):
        for name, until in (("live-preheat", "preheat"), ("live-load", "load"), ("live-bake", "bake")):
            if until == "bake":
                client.ask("loaded")
            for _ in range(900):
                client.wait(5)
                client.ask("present")
                watcher.poll()
                if rehearsal.stage == until and (until != "preheat" or rehearsal.now_s > 120):
                    break
            found += looked(browser, name, page.url, folder, "#permissives li")
            if until != "load":
                found += looked(browser, name.replace("live", "hall"), hall.url, folder, "#permissives li")
        rehearsal.board.life.app.settings["fahrenheit"] = 1
        watcher.poll()
        found += looked(browser, "hall-fahrenheit", hall.url, folder, "#permissives li")
        library.known("dome_open").start(rehearsal.outside)
        for _ in range(4):
            client.wait(3)
            watcher.poll()
        found += looked(browser, "hall-trip", hall.url, folder, "#permissives li")
        watcher.view = {**watcher.view, "connected": False, "word": "LINK LOST: the plug was pulled"}
        found += looked(browser, "live-old", page.url, folder, "#permissives li")
    return found


def practised(browser, folder):
    """The practise page: at its beginning, with a question, and answered."""
    found = []
    practice, shown = Practice("welded-relay"), PractisePage()
    with contextlib.closing(shown), contextlib.closing(practice):
        shown.show(practice)
        found += looked(browser, "practise", shown.url, folder, "#words:not(:text('loading'))")
        for _ in range(60):
            practice.live(1)
            if practice.is_asked:
                break
        shown.show(practice)
        found += looked(browser, "practise-asked", shown.url, folder, "#words:not(:text('loading'))")
        practice.press("1")
        practice.live(1)
        shown.show(practice)
        found += looked(browser, "practise-told", shown.url, folder, "#words:not(:text('loading'))")
    return found


def main(folder, files):
    """Pictures of everything; 1 if something does not fit."""
    from playwright.sync_api import sync_playwright

    folder.mkdir(parents=True, exist_ok=True)
    pages = {Path(file).stem: Path(file) for file in files} or made(folder)
    with sync_playwright() as playwright:
        browser = launched(playwright)
        found = []
        for name, path in pages.items():
            found += looked(browser, name, path.resolve().as_uri(), folder)
        if not files:
            found += live(browser, folder) + practised(browser, folder)
        browser.close()
    for one in found:
        print("DOES NOT FIT:", *one)
    return 1 if found else 0


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit("say: python -m tests.bench.looks FOLDER [page.html ...]")
    sys.exit(main(Path(sys.argv[1]), sys.argv[2:]))
