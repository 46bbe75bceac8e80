"""Stores to test against: one in memory and one on the disk, for the same promises."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from continuity.store.memory import MemoryStore
from continuity.store.sqlite import SqliteStore, personal_path


@pytest.fixture(scope="session")
def blank(tmp_path_factory):
    """Put an empty register at a path, without waiting for the disk as making one does."""
    template = tmp_path_factory.mktemp("blank") / "register"
    SqliteStore.create(template, "example-mortuary").close()

    def blank(path):
        for part in (Path, personal_path):
            shutil.copy(part(template), part(path))
        return path

    return blank


@pytest.fixture(params=["memory", "sqlite"])
def store(request, tmp_path, blank):
    if request.param == "memory":
        yield MemoryStore("example-mortuary")
        return
    with SqliteStore.open(blank(tmp_path / "register")) as opened:
        yield opened


@pytest.fixture
def path(tmp_path):
    return tmp_path / "register"


@pytest.fixture
def on_disk(path, blank):
    with SqliteStore.open(blank(path)) as opened:
        yield opened


@pytest.fixture
def fill():
    """Append `count` entries to a case, in one change, and return them as stored."""

    def fill(store, count, case_id="case-1", kind="sighting", detail=None):
        stored = []
        with store.writing() as pen:
            case = pen.case_head(case_id)
            first = case.length if case else 0
            for number in range(first, first + count):
                stored.append(pen.append(f"{case_id} {number}\n".encode(), case_id, number, kind))
                if detail is not None:
                    pen.put_disclosure(stored[-1].position, "name", detail)
        return stored

    return fill
