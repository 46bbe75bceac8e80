"""Bytes on the disk for each entry."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.store.sqlite import SqliteStore, personal_path
from tests.benchmarks.measure import Figure

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


def figures(large: Path) -> Iterator[Figure]:
    size, notes = _notes(large)
    disk = sum(file.stat().st_size for file in (large, personal_path(large)))
    yield Figure(
        "bytes on disk for each entry, personal details included",
        f"{disk / size:.0f} B",
        f"bare note {notes / size:.0f} B",
        disk / notes,
    )


def _notes(path: Path) -> tuple[int, int]:
    with SqliteStore.open(path) as store:
        return store.head().size, sum(len(stored.note) for stored in store.scan())
