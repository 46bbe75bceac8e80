"""Bytes on the disk, and the memory an audit takes."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

from continuity.store.sqlite import SqliteStore, personal_path
from tests.benchmarks.measure import Figure
from tests.benchmarks.verifying import WHY_MEMORY

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


def figures(small: Path, large: Path) -> Iterator[Figure]:
    size, notes = _notes(large)
    disk = sum(file.stat().st_size for file in (large, personal_path(large)))
    yield Figure(
        "bytes on disk for each entry, personal details included",
        f"{disk / size:.0f} B",
        f"bare note {notes / size:.0f} B",
        disk / notes,
    )
    little, much = (_peak(path) for path in (small, large))
    yield Figure(
        "greatest memory of a verify, large register",
        f"{much // 1024} MiB",
        f"small register {little // 1024} MiB",
        much / little,
        1.2,
        WHY_MEMORY,
    )


def _notes(path: Path) -> tuple[int, int]:
    with SqliteStore.open(path) as store:
        return store.head().size, sum(len(stored.note) for stored in store.scan())


def _peak(path: Path) -> int:
    """Kibibytes, of a process of its own."""
    command = [sys.executable, "-m", "tests.benchmarks.verifying", str(path)]
    return int(subprocess.run(command, capture_output=True, check=True).stdout)
