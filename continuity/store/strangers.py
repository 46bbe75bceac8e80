"""What stands in a register's files that no register's layout or entries account for.

Whoever owns a file can put a table, a trigger or a row into it that nothing in the record shows: a
trigger that keeps a copy of what is to be erased, an index that hides an entry from whoever asks
through it. An audit tells of all such things; what the entries themselves say is for it to judge.
"""

from __future__ import annotations

import sqlite3
from functools import cache
from hashlib import sha256
from typing import TYPE_CHECKING

from continuity.store import schema

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.store.database import Database
    from continuity.store.schema import Layout

_OBJECTS = "SELECT type, name, tbl_name, sql FROM sqlite_schema WHERE sql IS NOT NULL"

# The greatest number is no position either: nothing can be asked for that lies below its end.
_ROWS = {
    "entries lie where no position is": """
        SELECT count(*) FROM entry WHERE position < 0 OR position = 9223372036854775807""",
    "subtrees are kept that no entries make": """
        SELECT count(*) FROM node, head WHERE level NOT BETWEEN 1 AND 62
        OR node.position NOT BETWEEN 0 AND (head.size >> level) - 1""",
    "heads are kept beside the one": "SELECT count(*) FROM head WHERE one <> 1",
    "words of others are kept of checkpoints that are not there": """
        SELECT count(*) FROM cosignature WHERE size NOT IN (SELECT size FROM checkpoint)""",
    "cases without an id are kept": "SELECT count(*) FROM case_head WHERE case_id = ''",
    "labels are kept that no entry can have made": """
        SELECT count(*) FROM label
        WHERE code = '' OR print < 0 OR print = 9223372036854775807""",
}


def objects(main: Database, personal: Database) -> Iterator[str]:
    """Tables, indexes, views and triggers that are not as the layout has them, a sentence each.

    The guard rails may be missing: who owns the file may drop them, and they prove nothing.
    """
    for database, layout in ((main, schema.REGISTER), (personal, schema.PERSONAL)):
        expected = _laid_out(layout)
        found = {tuple(map(_spelt, row)) for row in database.rows(_OBJECTS)}
        for kind, name, _, _ in sorted(found - expected):
            yield f"{database.path.name} holds a {kind} {name!r:.80} that is no register's."
        names = {row[:2] for row in found}
        for kind, name, _, _ in sorted(expected - found):
            if kind != "trigger" and (kind, name) not in names:
                yield f"{database.path.name} lacks the {kind} {name}."


def rows(main: Database, personal: Database) -> Iterator[str]:
    """Rows that nothing accounts for, and indexes that do not hold what their tables hold."""
    for database in (main, personal):
        (problem,) = database.row("PRAGMA integrity_check(1)")
        if problem != "ok":
            yield f"{database.path.name} does not hold together: {problem:.200}."
    for words, sql in _ROWS.items():
        (count,) = main.row(sql)
        if count:
            yield f"{main.path.name}: {count} {words}."
    wrong = sum(
        type(case) is not str or sha256(case.encode()).digest() != digest
        for case, digest in _digests(main)
    )
    if wrong:
        yield f"{main.path.name}: {wrong} cases are filed under another digest than their id's."


def _digests(main: Database) -> Iterator[tuple[object, object]]:
    with main.translating():
        yield from main.run("SELECT case_id, digest FROM case_head")


@cache
def _laid_out(layout: Layout) -> frozenset[tuple[str, ...]]:
    """What SQLite itself notes of the layout's objects."""
    database = sqlite3.connect(":memory:")
    try:
        for statement in layout.statements:
            database.execute(statement)
        return frozenset(tuple(map(_spelt, row)) for row in database.execute(_OBJECTS))
    finally:
        database.close()


def _spelt(value: object) -> str:
    """A name or a statement, whose white space means nothing."""
    return " ".join(str(value).split())
