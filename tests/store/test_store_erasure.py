"""That what is erased is gone from the disk, and that nothing else is."""

from __future__ import annotations

import random
import sqlite3
from contextlib import closing

import pytest

from continuity.errors import (
    DamagedRegisterError,
    InputError,
    LockedRegisterError,
    RegisterError,
)
from continuity.store.database import Database
from continuity.store.memory import MemoryStore
from continuity.store.sqlite import SqliteStore, personal_path

SECRET = "Wilhelmina Invented-Person"
KEPT = "Somebody Else Invented"


def occurrences(path, text):
    """In each file of a register that holds the text at all, how often it stands in the bytes."""
    files = sorted(path.parent.glob(f"{path.name}*"))
    counts = {file.name: file.read_bytes().count(text.encode()) for file in files}
    return {name: count for name, count in counts.items() if count}


@pytest.fixture
def store(on_disk, fill):
    fill(on_disk, 30)
    with on_disk.writing() as pen:
        for number in range(30):
            pen.put_disclosure(number, "name", f"{SECRET if number % 3 else KEPT} {number}")
    return on_disk


SECRETS = [number for number in range(30) if number % 3]


def test_erased_details_are_gone_from_every_byte_of_every_file(store, path):
    assert set(occurrences(path, SECRET)) == {"register.personal-wal"}
    store._personal.row("PRAGMA wal_checkpoint(PASSIVE)")
    assert set(occurrences(path, SECRET)) == {"register.personal", "register.personal-wal"}
    assert store.erase(SECRETS) == 20
    assert occurrences(path, SECRET) == {}
    assert sum(occurrences(path, KEPT).values()) == 10
    assert sorted(file.name for file in path.parent.iterdir()) == [
        "register",
        "register-shm",
        "register-wal",
        "register.personal",
        "register.personal-shm",
        "register.personal-wal",
    ]
    assert [store.disclosures(n) for n in (0, 1)] == [{"name": f"{KEPT} 0"}, {}]
    assert store.integrity() == []


def test_large_details_on_pages_of_their_own_are_gone_too(store, path):
    with store.writing() as pen:
        pen.put_disclosure(0, "account", f"{SECRET} " * 5_000)
    store._personal.row("PRAGMA wal_checkpoint(PASSIVE)")
    assert occurrences(path, SECRET)["register.personal"] > 4_000
    store.erase(range(30))
    assert occurrences(path, SECRET) == {}
    assert occurrences(path, KEPT) == {}


def test_an_orphan_holding_the_same_words_goes_with_them(store, path):
    store._personal.run(
        "INSERT INTO disclosure VALUES (?, ?, ?)", (bytes(32), "name", f"{SECRET} orphaned")
    )
    assert store.erase(SECRETS) == 21
    assert occurrences(path, SECRET) == {}


def test_a_change_undone_leaves_nothing_to_find_after_an_erasure(store, path):
    """A large change spills into the write-ahead log before it is committed or undone."""
    store._personal.run("PRAGMA cache_size = 5")

    def change():
        with store.writing() as pen:
            for position in range(30):
                pen.put_disclosure(position, "account", f"{SECRET} " * 400)
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        change()
    assert occurrences(path, SECRET)["register.personal-wal"] > 400
    store.erase(SECRETS)
    assert occurrences(path, SECRET) == {}


def test_a_reader_that_keeps_the_old_bytes_is_told_of_and_erasing_again_ends_it(path, store, fill):
    with SqliteStore.open(path, wait=0.3) as another:
        with closing(sqlite3.connect(personal_path(path), isolation_level=None)) as reader:
            reader.execute("BEGIN")
            reader.execute("SELECT count(*) FROM disclosure").fetchone()
            with pytest.raises(LockedRegisterError, match="may still lie in"):
                another.erase(SECRETS)
            assert another.disclosures(1) == {}
            assert occurrences(path, SECRET) != {}
        assert another.erase(SECRETS) == 0
    assert occurrences(path, SECRET) == {}


def test_the_record_itself_is_not_touched_by_an_erasure(store):
    before = list(store.scan()), store.head(), list(store.cases())
    store.erase(range(30))
    assert (list(store.scan()), store.head(), list(store.cases())) == before


def test_a_copy_is_whole_private_and_never_overwrites(store, path, tmp_path):
    target = tmp_path / "copies" / "register"
    target.parent.mkdir()
    store.backup(target)
    assert {file.stat().st_mode & 0o777 for file in target.parent.iterdir()} == {0o600}
    with SqliteStore.open(target) as copy:
        assert list(copy.scan()) == list(store.scan())
        assert [copy.disclosures(n) for n in range(30)] == [store.disclosures(n) for n in range(30)]
        assert copy.integrity() == []
        assert copy._main.row("PRAGMA journal_mode") == ("wal",)
        copy.erase(SECRETS)
    assert occurrences(target, SECRET) == {}
    assert occurrences(path, SECRET) != {}
    content = target.read_bytes()
    with pytest.raises(InputError, match="already exists"):
        store.backup(target)
    assert target.read_bytes() == content
    with pytest.raises(InputError, match="already exists"):
        store.backup(path)
    target.unlink()
    with pytest.raises(InputError, match="personal already exists"):
        store.backup(target)
    assert not target.exists()


def test_a_copy_that_fails_leaves_nothing_behind(store, tmp_path, monkeypatch):
    folder = tmp_path / "copies"
    folder.mkdir()

    copy_to = Database.copy_to

    def fails(self, target):
        if self.path == personal_path(store.path):
            target.write_bytes(b"half")
            raise KeyboardInterrupt
        copy_to(self, target)

    with monkeypatch.context() as context:
        context.setattr(Database, "copy_to", fails)
        with pytest.raises(KeyboardInterrupt):
            store.backup(folder / "register")
    assert list(folder.iterdir()) == []
    with pytest.raises(RegisterError, match="its folder does not exist"):
        store.backup(folder / "absent" / "register")


def test_an_erasure_between_the_two_copies_is_in_neither(store, path, tmp_path, monkeypatch):
    """Else the copy's entries would lack details that no entry of it erased."""
    copy_to = Database.copy_to

    def erased_meanwhile(self, target):
        copy_to(self, target)
        if self.path == path:
            with SqliteStore.open(path) as other:
                other._delete(range(30))
                assert other.disclosures(0) == {}

    before = [store.disclosures(n) for n in range(30)]
    assert any(before)
    monkeypatch.setattr(Database, "copy_to", erased_meanwhile)
    assert store.backup(tmp_path / "copy") == store.head()
    with SqliteStore.open(tmp_path / "copy") as copy:
        assert [copy.disclosures(n) for n in range(30)] == before


def test_a_copy_that_its_disk_spoilt_is_not_said_to_be_done(store, tmp_path, monkeypatch):
    copy_to = Database.copy_to
    folder = tmp_path / "copies"
    folder.mkdir()

    def spoilt(self, target):
        copy_to(self, target)
        if target == folder / "register":
            note = store.entry_at(3).note
            content = target.read_bytes()
            assert content.count(note) == 1
            target.write_bytes(content.replace(note, note.swapcase()))

    monkeypatch.setattr(Database, "copy_to", spoilt)
    with pytest.raises(DamagedRegisterError, match="No copy was made") as error:
        store.backup(folder / "register")
    assert "its entries do not add up to its head of" in str(error.value)
    assert list(folder.iterdir()) == []


def test_a_copy_is_not_made_in_the_middle_of_a_change(store, tmp_path):
    with store.writing(), pytest.raises(RegisterError, match="still under way"):
        store.backup(tmp_path / "copy")


def test_a_register_in_memory_has_no_files_to_copy(tmp_path):
    with MemoryStore("example-mortuary") as store:
        with pytest.raises(RegisterError, match="no files to copy"):
            store.backup(tmp_path / "copy")
        assert list(tmp_path.iterdir()) == []


def test_copies_left_behind_where_a_page_was_split_are_gone_too(on_disk, path, fill):
    """SQLite zeroes what it deletes (secure_delete), but not what a row it moved left behind."""
    chance = random.Random(1)
    fill(on_disk, 600)
    with on_disk.writing() as pen:
        for number in range(600):
            pen.put_disclosure(number, "name", f"{SECRET} #{number}#" + "." * chance.randrange(900))
    on_disk._personal.row("PRAGMA wal_checkpoint(TRUNCATE)")
    content = personal_path(path).read_bytes()
    twice = [n for n in range(600) if content.count(f"#{n}#".encode()) > 1]
    assert twice, "no row was moved, so nothing was tried"
    assert on_disk.erase(twice) == len(twice)
    assert {n for n in range(600) if occurrences(path, f"#{n}#")} == set(range(600)) - set(twice)
