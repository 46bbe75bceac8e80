"""The two files' layout, and the steps that bring an older layout up to this one.

Written as SQL because that is what an outsider with any SQLite reader will want to compare.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from continuity.errors import DamagedRegisterError, NewerRegisterError

if TYPE_CHECKING:
    import sqlite_utils

    from continuity.store.database import Database

VERSION = 1

# Takes a file from one version to the next. sqlite-utils' `transform` does what SQLite's ALTER
# TABLE cannot, but not to the tables WITHOUT ROWID.
Step = Callable[["sqlite_utils.Database"], None]


@dataclass(frozen=True)
class Layout:
    """What one of the two files holds.

    Attributes:
        application_id: Which kind of file it is (PRAGMA application_id).
        statements: What makes it at the present version.
        owner: The statement that says, once, which register it belongs to.
        steps: `steps[n]` makes version n + 2 of version n + 1.
    """

    application_id: int
    statements: tuple[str, ...]
    owner: str
    steps: tuple[Step, ...] = ()


_REGISTER = (
    # The only source of positions: read and moved on inside the transaction that appends.
    """CREATE TABLE head (
        one INTEGER PRIMARY KEY CHECK (one = 1),
        register TEXT NOT NULL,
        size INTEGER NOT NULL,
        frontier BLOB NOT NULL
    ) STRICT""",
    """CREATE TABLE entry (
        position INTEGER PRIMARY KEY,
        case_id TEXT NOT NULL,
        number INTEGER NOT NULL,
        kind TEXT NOT NULL,
        note BLOB NOT NULL,
        leaf BLOB NOT NULL,
        UNIQUE (case_id, number)
    ) STRICT""",
    "CREATE UNIQUE INDEX entry_leaf ON entry (leaf)",
    # Complete subtrees of level 1 and above; level 0 is entry.leaf.
    """CREATE TABLE node (
        level INTEGER NOT NULL,
        position INTEGER NOT NULL,
        hash BLOB NOT NULL,
        PRIMARY KEY (level, position)
    ) STRICT, WITHOUT ROWID""",
    # A projection. What an append changes stands in no index.
    """CREATE TABLE case_head (
        case_id TEXT PRIMARY KEY,
        digest BLOB NOT NULL UNIQUE,
        name TEXT UNIQUE,
        length INTEGER NOT NULL,
        head BLOB NOT NULL,
        position INTEGER NOT NULL
    ) STRICT, WITHOUT ROWID""",
    # One size, one root.
    """CREATE TABLE checkpoint (
        size INTEGER PRIMARY KEY,
        root BLOB NOT NULL,
        note BLOB NOT NULL
    ) STRICT""",
    """CREATE TABLE cosignature (
        size INTEGER NOT NULL REFERENCES checkpoint (size),
        kind TEXT NOT NULL,
        blob BLOB NOT NULL,
        PRIMARY KEY (size, kind, blob)
    ) STRICT, WITHOUT ROWID""",
    # A projection: what the next case index is built from, so that it rehashes what changed alone.
    """CREATE TABLE case_index (
        one INTEGER PRIMARY KEY CHECK (one = 1),
        size INTEGER NOT NULL,
        roots BLOB NOT NULL
    ) STRICT""",
    # A projection.
    """CREATE TABLE label (
        code TEXT PRIMARY KEY,
        case_id TEXT NOT NULL,
        thing TEXT NOT NULL,
        print INTEGER NOT NULL
    ) STRICT, WITHOUT ROWID""",
    # A projection: the cases still in the firm's care, each with the position of its opening.
    """CREATE TABLE in_care (
        case_id TEXT PRIMARY KEY,
        opened INTEGER NOT NULL
    ) STRICT, WITHOUT ROWID""",
    # Guard rails against a slip with a database tool, no defence: who owns the file can drop them.
    *(
        f"""CREATE TRIGGER {table}_{act.lower()} BEFORE {act} ON {table}
        BEGIN SELECT RAISE(ABORT, 'what is recorded in {table} stays as it is'); END"""
        for table in ("entry", "node", "checkpoint")
        for act in ("UPDATE", "DELETE")
    ),
)

_PERSONAL = (
    "CREATE TABLE owner (one INTEGER PRIMARY KEY CHECK (one = 1), register TEXT NOT NULL) STRICT",
    # By leaf, not by position: a detail orphaned by a crash can then never pass for one of the
    # entry that takes the position afterwards.
    """CREATE TABLE disclosure (
        leaf BLOB NOT NULL,
        field TEXT NOT NULL,
        disclosure TEXT NOT NULL,
        PRIMARY KEY (leaf, field)
    ) STRICT, WITHOUT ROWID""",
)

REGISTER = Layout(int.from_bytes(b"ctyR"), _REGISTER, "INSERT INTO head VALUES (1, ?, 0, x'')")
PERSONAL = Layout(int.from_bytes(b"ctyP"), _PERSONAL, "INSERT INTO owner VALUES (1, ?)")


def lay_out(database: Database, layout: Layout, register: str) -> None:
    """Make an empty file into one of a register's two, whole or not at all."""
    database.run("PRAGMA journal_mode = WAL")
    with database.writing():
        for statement in layout.statements:
            database.run(statement)
        database.run(layout.owner, (register,))
        database.run(f"PRAGMA application_id = {layout.application_id}")
        database.run(f"PRAGMA user_version = {VERSION}")


def check(database: Database, layout: Layout) -> int:
    """The version of the layout a file has, once it is known to be what it should be.

    Raises:
        DamagedRegisterError: It is some other file.
        NewerRegisterError: A later version of this program laid it out.
    """
    (found,) = database.row("PRAGMA application_id")
    (version,) = database.row("PRAGMA user_version")
    if found != layout.application_id or version < 1:
        raise DamagedRegisterError(
            f"{database.path} is not a register's; check the path or restore it from a backup."
        )
    if version > VERSION:
        raise NewerRegisterError(
            f"{database.path} has layout {version} and this program knows layouts up to {VERSION}; "
            "use the later program."
        )
    return int(version)


def bring_up(database: Database, layout: Layout) -> None:
    """Take a file of an older version to the present one, whole or not at all."""
    if check(database, layout) == VERSION:
        return
    import sqlite_utils  # noqa: PLC0415 - slow to load, and wanted once in a version's life

    with database.writing(), database.translating():
        # Asked again under the lock: another program may have done it meanwhile.
        for step in layout.steps[check(database, layout) - 1 :]:
            step(
                sqlite_utils.Database(
                    database.connection, recursive_triggers=False, execute_plugins=False
                )
            )
        database.run(f"PRAGMA user_version = {VERSION}")
