"""What the tests of the audit may ask for."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

import invented  # noqa: E402 - found by the line above

if TYPE_CHECKING:
    from collections.abc import Iterator


@pytest.fixture(scope="session")
def original(tmp_path_factory: pytest.TempPathFactory) -> Iterator[invented.Invented]:
    """The invented register, made once."""
    with pytest.MonkeyPatch.context() as monkeypatch:
        yield invented.make(tmp_path_factory.mktemp("original"), monkeypatch)


@pytest.fixture
def copy(original: invented.Invented, tmp_path: Path) -> invented.Copy:
    """A copy of it."""
    return original.copy(tmp_path)
