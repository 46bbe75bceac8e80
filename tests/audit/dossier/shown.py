"""A dossier's page as a browser shows it once it has checked itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Page


@dataclass
class Shown:
    """A window, and what stands in it."""

    page: Page

    @property
    def state(self) -> str | None:
        return self.page.get_attribute("#verdict", "data-state")

    @property
    def codes(self) -> set[str]:
        found = self.page.eval_on_selector_all(
            "#verdict-findings li", "items => items.map(item => item.dataset.code)"
        )
        return set(found)

    @property
    def words(self) -> str:
        return self.page.inner_text("#verdict")

    def check_with(self, keys: str) -> None:
        self.page.fill("#pin", keys)
        self.page.click("#pin-check")
        self.wait()

    def wait(self) -> None:
        self.page.wait_for_function(
            "!['checking', 'unchecked'].includes(document.getElementById('verdict').dataset.state)",
            polling=20,
        )
