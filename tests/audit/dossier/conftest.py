"""The invented case's dossier, sound, made once; `scenario` and `tampers` stand beside this."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from scenario import PIN, Firm, whole
from shown import Shown

from continuity.audit.dossier.page import write_page
from continuity.audit.trust import Trust
from continuity.ledger.keys import VerifyKey

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from playwright.sync_api import Browser, Page

    from continuity.audit.dossier.what import Dossier


@pytest.fixture(scope="session")
def firm() -> Firm:
    return whole()


@pytest.fixture(scope="session")
def sound(firm: Firm) -> Dossier:
    """Shows the name, and withholds all else."""
    return firm.dossier("name")


@pytest.fixture(scope="session")
def pinned() -> Trust:
    return Trust(VerifyKey.parse(PIN))


CHROMIUM = shutil.which("chromium")
SWITCHES = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One real, headless Chromium for the module that uses it.

    No longer: while it is open an event loop runs in this thread, and other tests need their own.
    """
    if CHROMIUM is None:
        pytest.skip("NO CHROMIUM: the page's own check is not tested; run .ci/chromium")
    from playwright.sync_api import sync_playwright  # noqa: PLC0415 - only where it is used

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=SWITCHES)
        yield chromium
        chromium.close()


@pytest.fixture(scope="module")
def window(browser: Browser) -> Iterator[Page]:
    """One window that most tests share."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    yield context.new_page()
    context.close()


@pytest.fixture
def show(window: Page, tmp_path: Path) -> Callable[..., Shown]:
    """Opens a page's bytes from a file, in the shared window or in another."""

    def open_it(data: bytes, page: Page | None = None) -> Shown:
        file = tmp_path / "dossier.html"
        file.write_bytes(data)
        shown = Shown(page or window)
        shown.page.goto(file.as_uri())
        shown.wait()
        return shown

    return open_it


@pytest.fixture(scope="session")
def sound_page(sound: Dossier) -> bytes:
    return write_page(sound)
