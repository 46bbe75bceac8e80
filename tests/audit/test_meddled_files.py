"""Whoever owns the file meddles with it, past the entries: tables, indexes, rows, triggers.

Each is seen by the library and by the second verifier.
"""

from __future__ import annotations

import sqlite3

import pytest
import second_verifier
from invented import PINNED, REGISTER_KEY, A, Copy, holding

from continuity.errors import RegisterError
from continuity.store.memory import MemoryStore
from continuity.store.sqlite import SqliteStore, personal_path

GREATEST = 2**63 - 1


def seen(copy: Copy) -> tuple[str, ...]:
    """What the library finds; the other verifier must not call it sound either."""
    report = copy.verify(PINNED)
    second = second_verifier.verify(copy.path, str(REGISTER_KEY.verify_key))
    assert not report.sound
    assert not second.sound
    return report.codes


def rewire(copy: Copy, *statements: str) -> None:
    """Change what SQLite itself notes of the file's objects."""
    for statement in statements:
        connection = sqlite3.connect(copy.path, isolation_level=None)
        connection.execute("PRAGMA writable_schema = ON")
        connection.execute(statement)
        connection.close()


@pytest.mark.parametrize("personal", [False, True])
@pytest.mark.parametrize(
    "statement",
    [
        "CREATE TABLE hidden (x)",
        "CREATE VIEW hidden AS SELECT 1",
        "CREATE TRIGGER hidden AFTER INSERT ON {table} BEGIN SELECT 1; END",
        "ANALYZE",
    ],
)
def test_what_no_register_has_stands_in_a_file(copy, statement, personal):
    table = "disclosure" if personal else "entry"
    copy.sql(statement.format(table=table), personal=personal, counted=False)
    assert seen(copy) == ("layout-differs",)
    assert copy.verify(PINNED, case=A).codes == ("layout-differs",)


def test_a_table_without_what_kept_it_in_order(copy):
    rewire(
        copy,
        "UPDATE sqlite_schema SET sql = replace(sql, ' CHECK (one = 1)', '') WHERE name = 'head'",
        "INSERT INTO head SELECT 2, 'another', size, frontier FROM head",
    )
    assert copy.verify(PINNED).codes == ("layout-differs", "table-differs")


def test_guard_rails_that_were_dropped_prove_nothing(copy):
    copy.sql("SELECT 1", counted=False)
    assert copy.verify(PINNED).codes == ()
    assert second_verifier.verify(copy.path).sound


def test_a_guard_rail_that_does_something_else(copy):
    rail = "CREATE TRIGGER entry_update BEFORE UPDATE ON entry BEGIN SELECT 1; END"
    copy.sql(rail, counted=False)
    assert seen(copy) == ("layout-differs",)


@pytest.mark.parametrize("index", ["entry_leaf"])
def test_an_index_that_leaves_entries_out(copy, index):
    (sql,) = copy.rows("SELECT sql FROM sqlite_schema WHERE name = ?", index)[0]
    partial = f"{sql.partition(' WHERE ')[0]} WHERE position < 10"
    rewire(copy, f"UPDATE sqlite_schema SET sql = '{partial}' WHERE name = '{index}'")
    copy.sql(f"REINDEX {index}", counted=False)
    kept = sql.replace("'", "''")
    rewire(copy, f"UPDATE sqlite_schema SET sql = '{kept}' WHERE name = '{index}'")
    assert "table-differs" in seen(copy)


def test_an_index_that_hides_an_entry_of_a_case(copy):
    """`continuity case` asks through it, and would tell the case without that entry."""
    case = copy.case_id(A)
    copy.sql("CREATE TABLE shadow (case_id TEXT, number INTEGER)", counted=False)
    copy.sql(
        "INSERT INTO shadow (rowid, case_id, number) SELECT position, case_id, number FROM entry"
        " WHERE NOT (case_id = ? AND number = 4)",
        case,
    )
    copy.sql("CREATE UNIQUE INDEX shadow_case ON shadow (case_id, number)", counted=False)
    root = "(SELECT rootpage FROM sqlite_schema WHERE name = 'shadow_case')"
    rewire(
        copy,
        f"UPDATE sqlite_schema SET rootpage = {root} WHERE name = 'sqlite_autoindex_entry_1'",
        "DELETE FROM sqlite_schema WHERE name IN ('shadow', 'shadow_case')",
    )
    with SqliteStore.open(copy.path) as store:
        assert len(store.entries(case)) == 10
    assert seen(copy) == ("table-differs",)
    assert "chain-broken" in copy.verify(PINNED, case=A).codes


@pytest.mark.parametrize(
    "statement",
    [
        f"INSERT INTO entry SELECT {GREATEST}, 'x', 0, kind, note, x'00' FROM entry LIMIT 1",
        "INSERT INTO entry SELECT -5, 'x', 0, kind, note, x'00' FROM entry LIMIT 1",
        "INSERT INTO entry SELECT -5, case_id, 99, kind, note, x'00' FROM entry LIMIT 1",
        "INSERT INTO node VALUES (0, 3, zeroblob(32))",
        "INSERT INTO node VALUES (-1, -1, zeroblob(32))",
        "INSERT INTO node VALUES (1, 20, zeroblob(32))",
        "UPDATE case_head SET digest = zeroblob(32) WHERE name = '2031-0001'",
        "INSERT INTO case_head VALUES ('', x'00', '2031-0777', 1, zeroblob(32), 0)",
        "INSERT INTO cosignature VALUES (9999, 'cosignature', x'00')",
        "INSERT INTO label SELECT '', case_id, thing, print FROM label",
        f"UPDATE label SET print = {GREATEST}",
        "UPDATE label SET print = -1",
        "UPDATE label SET code = code || char(0)",
        "UPDATE case_head SET name = name || char(0) WHERE name = '2031-0001'",
    ],
)
def test_rows_that_no_entry_accounts_for(copy, statement):
    copy.sql(statement)
    assert set(seen(copy)) & {"table-differs", "label-differs", "name-differs"}


def test_what_lies_beside_the_files_changes_nothing_that_is_said(copy, original, tmp_path):
    """A write-ahead log left over, a journal put there, and links: what is read is what is judged."""
    for name in ("-wal", "-shm", "-journal"):
        copy.path.with_name(copy.path.name + name).write_bytes(b"left over" * 1000)
    assert copy.verify(PINNED).codes == ()
    link = tmp_path / "link"
    link.symlink_to(copy.path)
    personal_path(link).symlink_to(personal_path(copy.path))
    assert Copy(link).verify(holding(original.second)).codes == ()
    personal_path(link).unlink()
    with pytest.raises(RegisterError, match="missing"):
        Copy(link).verify(PINNED)


def test_details_of_an_older_copy_are_told(copy, original):
    """What was erased since is there again."""
    old = personal_path(original.backup).read_bytes()
    personal_path(copy.path).write_bytes(old)
    assert "disclosure-erased-kept" in copy.verify(PINNED).codes


def test_a_register_in_memory_has_no_files():
    store = MemoryStore("x")
    assert (store.strangers(), store.strays()) == ([], [])
