"""What every folder of tests may ask for."""

import os
import shutil

import pytest

from host.shim.remote import RuntimeMissing, find_micropython
from tests.pico.image import NoFirmware
from tests.pico.rig import ready


@pytest.fixture(scope="session")
def interpreter():
    """Path of the MicroPython unix port; without one the test is left out, which the summary says."""
    try:
        return find_micropython()
    except RuntimeMissing as error:
        pytest.skip(str(error))


def pytest_terminal_summary(terminalreporter):
    """One line about the tests on the real firmware where they were left out."""
    try:
        ready()
    except NoFirmware as error:
        if any("tests/pico/" in report.nodeid for report in terminalreporter.stats.get("skipped", ())):
            terminalreporter.write_line(f"tests/pico left out: {error}")


@pytest.fixture(scope="module")
def browser():
    """Headless Chromium; left out, with a word, where it or playwright is missing."""
    api = pytest.importorskip("playwright.sync_api", reason="playwright comes with the extra test")
    from tests.bench.looks import NAMES, launched

    if not (os.environ.get("CHROMIUM") or any(map(shutil.which, NAMES))):
        pytest.skip("no Chromium on this machine: install it, or set CHROMIUM to its path")
    with api.sync_playwright() as playwright:
        chromium = launched(playwright)
        yield chromium
        chromium.close()
