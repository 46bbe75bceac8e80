"""Stores to test against: one in memory and one on the disk, for the same promises."""

from __future__ import annotations

import pytest

from continuity.store.memory import MemoryStore
from continuity.store.sqlite import SqliteStore


@pytest.fixture(params=["memory", "sqlite"])
def store(request, tmp_path):
    if request.param == "memory":
        yield MemoryStore("example-mortuary")
        return
    with SqliteStore.create(tmp_path / "register", "example-mortuary") as made:
        yield made


@pytest.fixture
def path(tmp_path):
    return tmp_path / "register"


@pytest.fixture
def on_disk(path):
    with SqliteStore.create(path, "example-mortuary") as made:
        yield made


@pytest.fixture
def fill():
    """Append `count` entries to a case, a transaction each, and return them as stored."""

    def fill(store, count, case_id="case-1", kind="sighting", detail=None):
        stored = []
        for _ in range(count):
            with store.writing() as pen:
                case = pen.case_head(case_id)
                number = case.length if case else 0
                stored.append(pen.append(f"{case_id} {number}\n".encode(), case_id, number, kind))
                if detail is not None:
                    pen.put_disclosure(stored[-1].position, "name", detail)
        return stored

    return fill
