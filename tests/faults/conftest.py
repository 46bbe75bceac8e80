"""What the tests of faults may ask for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.faults import firm as firms
from tests.faults.nursery import Nursery

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from tests.faults.firm import Firm


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory) -> Firm:
    """The invented firm, made once; to be copied, never touched."""
    return firms.make(tmp_path_factory.mktemp("template"))


@pytest.fixture
def firm(template: Firm, tmp_path: Path) -> Firm:
    """A firm of the test's own."""
    return template.copy(tmp_path / "firm")


@pytest.fixture
def another(template: Firm, tmp_path: Path) -> Callable[[], Firm]:
    """As many firms of the test's own as it wants."""
    made = 0

    def another() -> Firm:
        nonlocal made
        made += 1
        return template.copy(tmp_path / f"firm-{made}")

    return another


@pytest.fixture(scope="session")
def _nursery() -> Iterator[Nursery]:
    nursery = Nursery()
    yield nursery
    nursery.close()


@pytest.fixture
def nursery(_nursery: Nursery) -> Iterator[Nursery]:
    """Where children are born that do things and are killed."""
    yield _nursery
    _nursery.clear()
