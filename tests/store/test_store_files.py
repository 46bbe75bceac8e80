"""Wrong, damaged, locked and unwritable files: one sentence each, and no file made or spoilt."""

from __future__ import annotations

import os
import random
import resource
import shutil
import sqlite3
import stat
import tempfile
import time
from contextlib import closing, contextmanager, suppress
from pathlib import Path

import pytest

from continuity.errors import (
    ContinuityError,
    DamagedRegisterError,
    InputError,
    LockedRegisterError,
    MissingRegisterError,
    NewerRegisterError,
    RegisterError,
)
from continuity.store import faults
from continuity.store.database import Database
from continuity.store.sqlite import SqliteStore, personal_path

NOBODY = 65534


def plain(path):
    """The file as any SQLite tool would open it."""
    return closing(sqlite3.connect(path, isolation_level=None))


def said(error):
    """The sentence of an error, once it is known to be one."""
    text = str(error.value)
    assert "\n" not in text
    assert text.endswith(".")
    return text


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    path = tmp_path_factory.mktemp("template") / "register"
    with SqliteStore.create(path, "example-mortuary") as store, store.writing() as pen:
        for number in range(40):
            pen.append(b"%d" % number, "case-1", number, "sighting")
            pen.put_disclosure(number, "name", "an invented name")
        pen.put_label("L1", "case-1", "bag", 1)
        pen.put_in_care("case-1", 0)
        pen.put_checkpoint(40, bytes(32), b"note")
    return path


@pytest.fixture
def filled(template, path):
    for part in (Path, personal_path):
        shutil.copy(part(template), part(path))
    return path


def read_everything(store):
    list(store.scan())
    list(store.cases())
    store.entries("case-1")
    store.entries("register")
    [store.disclosures(position) for position in range(40)]
    store.read_hashes([(level, 0) for level in range(6)])
    store.checkpoints()
    store.label("L1")
    store.in_care()
    store.case_by_name("2031-001")
    store.case_heads_in_bucket(7)
    store.integrity()


@pytest.mark.parametrize("name", ["absent", "absent/below", "register\0", "plain/below"])
def test_a_mistyped_path_is_missing_and_makes_no_file(tmp_path, name):
    (tmp_path / "plain").write_text("a file, not a folder")
    with pytest.raises(MissingRegisterError, match="Nothing stands at") as error:
        SqliteStore.open(tmp_path / name)
    assert str(tmp_path) in said(error)
    assert [p.name for p in tmp_path.iterdir()] == ["plain"]


@pytest.mark.parametrize(
    "content",
    [b"", b"Minutes of the example firm's meeting.\n" * 200, b"SQLite format 3\0", bytes(8192)],
    ids=["empty", "text", "header alone", "zeros"],
)
@pytest.mark.parametrize("part", [Path, personal_path])
def test_another_file_is_no_register_and_stays_as_it_is(filled, part, content):
    part(filled).write_bytes(content)
    with pytest.raises(DamagedRegisterError, match="not a register") as error:
        SqliteStore.open(filled)
    assert str(part(filled)) in said(error)
    assert part(filled).read_bytes() == content


@pytest.mark.parametrize("part", [Path, personal_path])
def test_another_programs_database_is_no_register(filled, part):
    part(filled).unlink()
    with plain(part(filled)) as other:
        other.execute("CREATE TABLE head (register TEXT)")
        other.execute("INSERT INTO head VALUES ('example-mortuary')")
    content = part(filled).read_bytes()
    with pytest.raises(DamagedRegisterError, match="is not a register's"):
        SqliteStore.open(filled)
    assert part(filled).read_bytes() == content


def test_a_folder_is_no_register(tmp_path):
    with pytest.raises(DamagedRegisterError, match="is not a file"):
        SqliteStore.open(tmp_path)


@pytest.mark.parametrize("part", [Path, personal_path])
@pytest.mark.parametrize("share", [0.1, 0.5])
def test_a_truncated_file_is_damaged(filled, part, share):
    content = part(filled).read_bytes()
    part(filled).write_bytes(content[: int(len(content) * share)])
    with pytest.raises(DamagedRegisterError, match="not a register or is damaged"):
        SqliteStore.open(filled)


@pytest.mark.parametrize("part", [Path, personal_path])
def test_a_torn_last_page_is_found_by_looking(filled, part):
    """SQLite takes a file torn within its last page for whole until that page is read."""
    content = part(filled).read_bytes()
    part(filled).write_bytes(content[:-2048])
    with SqliteStore.open(filled) as store:
        found = store.integrity()
    assert found
    assert all(problem.startswith(str(part(filled))) for problem in found)


def test_a_register_without_its_details_says_which_file_is_missing(filled):
    personal_path(filled).unlink()
    with pytest.raises(MissingRegisterError, match="personal details") as error:
        SqliteStore.open(filled)
    assert str(personal_path(filled)) in said(error)


def test_details_of_another_register_are_not_taken(filled, tmp_path):
    SqliteStore.create(tmp_path / "other", "another-mortuary").close()
    personal_path(tmp_path / "other").replace(personal_path(filled))
    with pytest.raises(DamagedRegisterError, match="belongs to another register"):
        SqliteStore.open(filled)


@pytest.mark.parametrize("part", [Path, personal_path])
def test_a_newer_register_is_left_alone(filled, part):
    with plain(part(filled)) as database:
        database.execute("PRAGMA user_version = 2")
    with pytest.raises(NewerRegisterError, match="layout 2 and this program knows layouts up to 1"):
        SqliteStore.open(filled)


def test_a_table_that_is_gone_is_damage(filled):
    with plain(filled) as database:
        database.execute("DROP TABLE label")
    with SqliteStore.open(filled) as store, pytest.raises(DamagedRegisterError, match="no such"):
        store.label("L1")


@pytest.mark.parametrize("frontier", [b"", bytes(31), bytes(96)])
def test_a_head_that_contradicts_itself_is_damage(filled, frontier):
    with plain(filled) as database:
        database.execute("UPDATE head SET frontier = ?", (frontier,))
    with SqliteStore.open(filled) as store:
        with pytest.raises(DamagedRegisterError, match="contradicts itself"):
            store.head()
        with pytest.raises(DamagedRegisterError), store.writing() as pen:
            pen.append(b"x", "case-1", 40, "sighting")


@pytest.mark.parametrize("seed", range(60))
def test_a_mangled_file_never_brings_anything_but_our_errors(filled, seed):
    chance = random.Random(seed)
    part = filled if seed % 4 else personal_path(filled)
    content = bytearray(part.read_bytes())
    for _ in range(chance.choice([1, 8, 64])):
        content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
    part.write_bytes(content)
    with suppress(ContinuityError), SqliteStore.open(filled) as store:
        read_everything(store)


def test_a_damaged_name_that_cannot_be_quoted_is_damage(filled):
    content = filled.read_bytes()
    filled.write_bytes(content.replace(b"CREATE TABLE label", b"CREATE TABLE l\xa0bel"))
    with pytest.raises(DamagedRegisterError, match="not a register or is damaged"):
        SqliteStore.open(filled)


def test_what_integrity_finds(filled):
    with plain(filled) as database:
        database.execute("DROP TRIGGER entry_delete")
        database.execute("DROP TRIGGER node_delete")
        database.execute("DELETE FROM entry WHERE position = 20")
        database.execute("DELETE FROM node WHERE level = 2 AND position = 1")
        database.execute("UPDATE case_head SET length = 12")
        database.execute("INSERT INTO cosignature VALUES (99, 'witness', x'00')")
    with SqliteStore.open(filled) as store:
        found = store.integrity()
    assert [problem.removeprefix(f"{filled}: ") for problem in found] == [
        "a row of cosignature refers to a row of checkpoint that is not there.",
        "the head counts 40 entries and 39 stand, the last at position 39.",
        "37 subtrees are kept where 40 entries make 38.",
        "what is kept of case case-1 is not what its entries say; rebuild it.",
    ]


def test_integrity_finds_a_spoilt_page_in_either_file(filled):
    for part in (filled, personal_path(filled)):
        content = bytearray(part.read_bytes())
        content[-4096:] = random.Random(1).randbytes(4096)
        part.write_bytes(content)
    with SqliteStore.open(filled) as store:
        found = store.integrity()
    for part in (filled, personal_path(filled)):
        assert any(problem.startswith(str(part)) for problem in found)


@pytest.mark.parametrize("table", ["entry", "node", "checkpoint"])
@pytest.mark.parametrize("act", ["DELETE FROM {}", "UPDATE {} SET {} = x'00'"])
def test_guard_rails_stop_a_slip_with_a_database_tool(filled, table, act):
    column = {"entry": "note", "node": "hash", "checkpoint": "note"}[table]
    with plain(filled) as database, pytest.raises(sqlite3.IntegrityError, match="stays as it is"):
        database.execute(act.format(table, column))


def test_only_creating_makes_a_register_and_it_never_overwrites(path):
    SqliteStore.create(path, "example-mortuary").close()
    content = path.read_bytes()
    with pytest.raises(InputError, match="already exists"):
        SqliteStore.create(path, "another-mortuary")
    assert path.read_bytes() == content
    path.unlink()
    with pytest.raises(InputError, match="personal already exists"):
        SqliteStore.create(path, "another-mortuary")
    assert not path.exists()
    assert personal_path(path).exists()


def test_a_register_cannot_be_made_in_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(RegisterError, match="its folder does not exist"):
        SqliteStore.create(tmp_path / "absent" / "register", "example-mortuary")
    with pytest.raises(RegisterError, match="cannot be made"):
        SqliteStore.create(tmp_path / "register\0", "example-mortuary")


@pytest.mark.parametrize("at", [1, 5, 20])
def test_a_creation_that_fails_leaves_nothing_behind(tmp_path, monkeypatch, at):
    run, calls = Database.run, []

    def failing(self, sql, values=()):
        calls.append(sql)
        if len(calls) == at:
            raise KeyboardInterrupt
        return run(self, sql, values)

    monkeypatch.setattr(Database, "run", failing)
    with pytest.raises(KeyboardInterrupt):
        SqliteStore.create(tmp_path / "register", "example-mortuary")
    assert list(tmp_path.iterdir()) == []


def test_both_files_are_the_owners_alone(filled):
    for part in (filled, personal_path(filled)):
        assert stat.S_IMODE(part.stat().st_mode) == 0o600


def test_a_path_may_hold_what_a_uri_may_not(tmp_path):
    path = tmp_path / "mortuary?mode=memory#1 %41é"
    with SqliteStore.create(path, "example-mortuary") as store, store.writing() as pen:
        pen.append(b"a", "case-1", 0, "received")
    assert sorted(p.name for p in tmp_path.iterdir()) == [path.name, f"{path.name}.personal"]
    with SqliteStore.open(str(path)) as store:
        assert store.head().size == 1
        assert store.path == path


def test_the_files_are_as_durable_as_promised(on_disk):
    pragmas = {
        name: on_disk._main.row(f"PRAGMA {name}")[0]
        for name in ("journal_mode", "synchronous", "foreign_keys", "trusted_schema")
    }
    assert pragmas == {
        "journal_mode": "wal",
        "synchronous": 2,
        "foreign_keys": 1,
        "trusted_schema": 0,
    }
    personal = on_disk._personal
    assert personal.row("PRAGMA journal_mode") == ("wal",)
    assert personal.row("PRAGMA synchronous") == (2,)
    assert personal.row("PRAGMA secure_delete") == (1,)
    strict = on_disk._main.rows(
        "SELECT name FROM pragma_table_list WHERE type = 'table' AND NOT strict AND name NOT LIKE 'sqlite%'"
    )
    assert strict == []


def test_another_holding_the_pen_is_waited_for_and_then_told(filled):
    with plain(filled) as other, SqliteStore.open(filled, wait=0.5) as store:
        other.execute("BEGIN IMMEDIATE")
        began = time.monotonic()
        with pytest.raises(LockedRegisterError, match="Another program is holding") as error:
            store.writing().__enter__()
        assert 0.4 < time.monotonic() - began < 3
        assert str(filled) in said(error)
        assert store.head().size == 40, "reading goes on meanwhile"
        other.execute("ROLLBACK")
        with store.writing() as pen:
            pen.append(b"x", "case-1", 40, "sighting")


def test_a_lock_on_the_details_undoes_the_entry(filled):
    with plain(personal_path(filled)) as other, SqliteStore.open(filled, wait=0) as store:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(LockedRegisterError) as error, store.writing() as pen:  # noqa: PT012
            pen.append(b"x", "case-1", 40, "sighting")
            pen.put_disclosure(40, "name", "detail")
        assert "register.personal" in said(error)
        assert store.head().size == 40


def test_a_detail_that_could_not_be_kept_keeps_the_entry_from_being_committed(filled):
    """Even where the caller swallows the error: an entry without its detail would be a loss."""
    with plain(personal_path(filled)) as other, SqliteStore.open(filled, wait=0) as store:
        other.execute("BEGIN IMMEDIATE")

        def careless():
            with store.writing() as pen:
                pen.append(b"x", "case-1", 40, "sighting")
                with pytest.raises(LockedRegisterError):
                    pen.put_disclosure(40, "name", "detail")

        with pytest.raises(RegisterError, match="begin another"):
            careless()
        assert store.head().size == 40


def test_a_full_disk_undoes_the_change_and_says_so(filled):
    with SqliteStore.open(filled) as store:
        pages = store._main.row("PRAGMA page_count")[0]
        store._main.run(f"PRAGMA max_page_count = {pages}")
        with (
            pytest.raises(RegisterError, match="is full and nothing more was recorded") as error,
            store.writing() as pen,
        ):
            pen.append(bytes(60_000), "case-1", 40, "sighting")
        assert str(filled) in said(error)
        assert store.head().size == 40
        store._main.run("PRAGMA max_page_count = 100000")
        with store.writing() as pen:
            pen.append(bytes(60_000), "case-1", 40, "sighting")
        assert store.integrity() == []


def test_a_disk_that_fails_undoes_the_change_and_says_so(filled):
    with SqliteStore.open(filled) as store:
        soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, hard))
        try:
            with pytest.raises(RegisterError, match="The disk that holds"), store.writing() as pen:
                pen.append(bytes(60_000), "case-1", 40, "sighting")
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        assert store.head().size == 40
        with store.writing() as pen:
            pen.append(b"x", "case-1", 40, "sighting")
        assert store.integrity() == []


@contextmanager
def as_somebody_else():
    """Root may write anywhere, so be nobody for a while."""
    root = os.geteuid() == 0
    if root:
        os.seteuid(NOBODY)
    try:
        yield
    finally:
        if root:
            os.seteuid(0)


@pytest.fixture
def shared():
    """A folder whose parents anybody may enter."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        with (
            SqliteStore.create(folder / "register", "example-mortuary") as store,
            store.writing() as pen,
        ):
            pen.append(b"a", "case-1", 0, "received")
        yield folder
        folder.chmod(0o755)


def chmod(folder, folder_mode, file_mode):
    for part in folder.iterdir():
        part.chmod(file_mode)
    folder.chmod(folder_mode)


def test_a_read_only_register_is_read_and_refuses_writing(shared):
    chmod(shared, 0o777, 0o444)
    with as_somebody_else(), SqliteStore.open(shared / "register") as store:
        assert store.head().size == 1
        with (
            pytest.raises(RegisterError, match="cannot be written") as error,
            store.writing() as pen,
        ):
            pen.append(b"b", "case-1", 1, "sighting")
        assert str(shared / "register") in said(error)
        assert store.head().size == 1


@pytest.mark.parametrize("modes", [(0o555, 0o444), (0o755, 0o000)])
def test_a_register_without_leave_to_use_it_says_what_leave_it_needs(shared, modes):
    chmod(shared, *modes)
    with as_somebody_else(), pytest.raises(RegisterError) as error:
        SqliteStore.open(shared / "register").head()
    assert " leave to " in said(error)


def test_a_folder_that_may_not_be_entered(shared):
    chmod(shared, 0o700 if os.geteuid() == 0 else 0o000, 0o444)
    with as_somebody_else():
        with pytest.raises(RegisterError, match="cannot be looked at: Permission denied"):
            SqliteStore.open(shared / "register")
        with pytest.raises(RegisterError, match="cannot be made: Permission denied"):
            SqliteStore.create(shared / "another", "example-mortuary")


def test_values_sqlite_has_no_form_for_are_the_callers_mistake(on_disk):
    with pytest.raises(InputError, match="cannot be kept in or sought in"):
        on_disk.entry_at(2**64)
    with pytest.raises(InputError):
        on_disk.case_by_name("\udc80")


def test_the_same_note_twice_is_refused(on_disk):
    with pytest.raises(DamagedRegisterError), on_disk.writing() as pen:  # noqa: PT012
        pen.append(b"a", "case-1", 0, "received")
        pen.append(b"a", "case-2", 0, "received")
    assert on_disk.head().size == 0


def test_a_closed_register_says_so(on_disk):
    on_disk.close()
    with pytest.raises(RegisterError, match="cannot be used"):
        on_disk.head()


@pytest.mark.parametrize(
    ("code", "kind", "words"),
    [
        (sqlite3.SQLITE_BUSY, LockedRegisterError, "try again"),
        (sqlite3.SQLITE_BUSY_SNAPSHOT, LockedRegisterError, "try again"),
        (sqlite3.SQLITE_CORRUPT, DamagedRegisterError, "restore it from a backup"),
        (sqlite3.SQLITE_NOTADB, DamagedRegisterError, "restore it from a backup"),
        (sqlite3.SQLITE_READONLY_DIRECTORY, RegisterError, "give this account leave"),
        (sqlite3.SQLITE_IOERR_FSYNC, RegisterError, "check the disk"),
        (sqlite3.SQLITE_FULL, RegisterError, "make room"),
        (sqlite3.SQLITE_CANTOPEN, RegisterError, "needs leave"),
        (sqlite3.SQLITE_PERM, RegisterError, "give it leave"),
        (sqlite3.SQLITE_MISUSE, RegisterError, "cannot be used: words"),
        (sqlite3.SQLITE_INTERRUPT, KeyboardInterrupt, ""),
    ],
)
def test_each_fault_has_its_sentence(code, kind, words):
    error = sqlite3.OperationalError("words")
    error.sqlite_errorcode = code
    told = faults.told(error, Path("register"))
    assert type(told) is kind
    assert words in str(told)


def test_an_sqlite_too_old_is_told(path, monkeypatch):
    SqliteStore.create(path, "example-mortuary").close()
    monkeypatch.setattr(sqlite3, "sqlite_version_info", (3, 36, 0))
    with pytest.raises(RegisterError, match=r"it takes 3\.37 or later"):
        SqliteStore.open(path)
