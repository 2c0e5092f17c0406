"""A browser for the page, where there is one."""

import os
import shutil

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")


@pytest.fixture(scope="module")
def browser():
    """Headless Chromium; the tests are left out, with a word, where it or playwright is missing."""
    api = pytest.importorskip("playwright.sync_api", reason="playwright comes with the extra test")
    path = os.environ.get("CHROMIUM") or next(filter(None, map(shutil.which, NAMES)), None)
    if path is None:
        pytest.skip("no Chromium on this machine: install it, or set CHROMIUM to its path")
    with api.sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield chromium
        chromium.close()
