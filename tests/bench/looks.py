"""Pictures of every page at four widths, light and dark, and what does not fit: one command, a real browser.

    python -m tests.bench.looks FOLDER [page.html ...]

Without pages it makes them first: a rehearsed evening's report, a drill of two faults, a plan, the live page in three
moments, practise. Needs Chromium and playwright (extra test). Ends with 1 if anything scrolls sideways or is cut.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

from host.link.client import SimulatedClient
from host.panel.practise import Practice
from host.panel.practise_page import PractisePage
from host.simulator.rehearsal import Rehearsal
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
            tall = page.evaluate(TALL)
            page.screenshot(path=folder / f"{name}-{width}-{scheme}.png", full_page=tall < 8000)
            print(f"{name:14} {width:5} {scheme:5} {tall:6} px tall")
            page.close()
    return found


def made(folder):
    """Pages that are files: {name: path}."""
    run = [sys.executable, "-m", "tools"]
    evening, drill, sheet = folder / "evening", folder / "drill", folder / "hall.toml"
    for old in (evening, drill):
        shutil.rmtree(old, ignore_errors=True)
    sheet.unlink(missing_ok=True)
    for words in (
        ["rehearse", "--breads", "3", "--fault", "dome_open@5200", "--out", evening],
        ["drill", "--fault", "dome_open", "--fault", "relay_welded_top", "--oven", "standard", "--out", drill],
        ["plan", "--new", sheet], ["plan", sheet, "--page", folder / "plan.html"],
    ):  # fmt: skip
        done = subprocess.run([*run, *map(str, words)], check=False, capture_output=True, text=True)
        if done.returncode == 2:
            raise RuntimeError(done.stderr.strip())
    pages = {"report": evening / "report.html", "plan": folder / "plan.html"}
    pages |= {f"drill{n}": path for n, path in enumerate(sorted(drill.glob("*.html")))}
    return {name: path for name, path in pages.items() if path.is_file()}


def live(browser, folder):
    """The live page in three moments, and practise."""
    rehearsal = Rehearsal(settings={"setpoint_c": 120, "soak_min": 0, "bake_s": 200}, cook=None)
    client = SimulatedClient(rehearsal)
    watcher = Watcher(lambda: client, client)
    rehearsal.advance(5)
    client.ask("start")
    page = Page(watcher)
    found = []
    with contextlib.closing(page), contextlib.closing(rehearsal):
        for name, until in (("live-preheat", "preheat"), ("live-load", "load"), ("live-bake", "bake")):
            if until == "bake":
                client.ask("loaded")
            for _ in range(200):
                client.wait(5)
                watcher.poll()
                if rehearsal.stage == until and (until != "preheat" or rehearsal.now_s > 120):
                    break
            found += looked(browser, name, page.url, folder, "#permissives li")
    practice, shown = Practice(), PractisePage()
    with contextlib.closing(shown), contextlib.closing(practice):
        practice.live(3)
        shown.show(practice)
        found += looked(browser, "practise", shown.url, folder)
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
            found += live(browser, folder)
        browser.close()
    for one in found:
        print("DOES NOT FIT:", *one)
    return 1 if found else 0


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit("say: python -m tests.bench.looks FOLDER [page.html ...]")
    sys.exit(main(Path(sys.argv[1]), sys.argv[2:]))
