"""Bringing an older layout up to a later program's, whole or not at all."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest

from continuity.errors import DamagedRegisterError
from continuity.store import schema
from continuity.store.sqlite import SqliteStore, personal_path


def versions(path):
    found = []
    for file in (path, personal_path(path)):
        with closing(sqlite3.connect(file)) as database:
            found.append(database.execute("PRAGMA user_version").fetchone()[0])
    return found


@pytest.fixture
def old(path, fill):
    with SqliteStore.create(path, "example-mortuary") as store:
        fill(store, 3, detail="an invented name")
        with store.writing() as pen:
            pen.put_label("L1", "case-1", "bag", 1)
            pen.put_checkpoint(3, bytes(32), b"note")
    return path


@pytest.fixture
def later(monkeypatch):
    """A program two versions later."""

    def later(register_steps, personal_steps):
        monkeypatch.setattr(schema, "VERSION", 3)
        monkeypatch.setattr(schema, "REGISTER", replace(schema.REGISTER, steps=register_steps))
        monkeypatch.setattr(schema, "PERSONAL", replace(schema.PERSONAL, steps=personal_steps))

    return later


def shelf(database):
    database["shelf"].create({"code": str, "place": str}, pk="code", strict=True)


def place(database):
    database["label"].add_column("place", str)


def rename(database):
    database.execute("ALTER TABLE disclosure RENAME COLUMN field TO detail")


def reshape(database):
    database["checkpoint"].transform(rename={"note": "text"})


def nothing(_database):
    pass


def fail(database):
    database["half"].create({"a": int})
    raise ZeroDivisionError


def test_each_file_is_taken_through_every_step_when_opened(old, later):
    later((shelf, reshape), (nothing, rename))
    with SqliteStore.open(old) as store:
        assert store.head().size == 3
        assert store.integrity() == []
        assert store._main.rows("SELECT * FROM shelf") == []
        assert store._main.rows("SELECT size, text FROM checkpoint") == [(3, b"note")]
        assert store._personal.row("SELECT detail FROM disclosure") == ("name",)
    assert versions(old) == [3, 3]
    SqliteStore.open(old).close()


def test_only_the_steps_still_wanting_are_taken(old, later):
    """As when the first file was brought up and the power failed before the second."""
    with closing(sqlite3.connect(old)) as database:
        database.execute("PRAGMA user_version = 2")
    later((fail, place), (nothing, nothing))
    with SqliteStore.open(old) as store:
        assert store._main.row("SELECT place FROM label") == (None,)
    assert versions(old) == [3, 3]


@pytest.mark.parametrize(
    ("steps", "error"),
    [
        ((shelf, fail), ZeroDivisionError),
        ((shelf, lambda database: database.execute("SELECT * FROM absent")), DamagedRegisterError),
    ],
)
def test_a_step_that_fails_leaves_the_old_layout(old, later, monkeypatch, steps, error):
    with monkeypatch.context() as context:
        context.setattr(schema, "VERSION", 1)
        later(steps, (nothing, nothing))
        with pytest.raises(error):
            SqliteStore.open(old)
    monkeypatch.undo()
    assert versions(old) == [1, 1]
    with SqliteStore.open(old) as store:
        assert store.head().size == 3
        assert store._main.rows("SELECT 1 FROM sqlite_schema WHERE name IN ('shelf', 'half')") == []


def test_the_present_layout_needs_no_library_to_bring_it_up(old, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "sqlite_utils", None)
    with SqliteStore.open(old) as store:
        store.migrate()
        assert store.schema_version == 1
