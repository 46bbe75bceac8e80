"""What is wrong with a register's files, and what one table says against another.

It finds accidents of disks and tools. Whether somebody altered the record is for an audit to say,
from hashes and signatures, not for a file to say about itself.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.errors import ContinuityError, DamagedRegisterError
from continuity.ledger import merkle

if TYPE_CHECKING:
    from continuity.store.database import Database
    from continuity.store.protocol import Head
    from continuity.store.sqlite import SqliteStore

# SQLite takes the bare columns from the row that holds the maximum (sqlite.org/lang_select.html
# section 2.5).
CASE_HEADS = "SELECT case_id, count(*), max(number) + 1, leaf, position FROM entry GROUP BY case_id"


def problems(main: Database, personal: Database) -> list[str]:
    """Everything found wrong, a sentence each; empty when nothing is."""
    found = [*_in_file(main), *_in_file(personal)]
    try:
        return [*found, *_between_tables(main)]
    except ContinuityError as error:
        return [*found, str(error)]


def copied(copy: SqliteStore) -> Head:
    """The head of a copy that was just made, once all its entries are hashed up to it.

    Raises:
        DamagedRegisterError: It does not add up.
    """
    head, tree = copy.head(), merkle.TreeBuilder()
    for stored in copy.scan():
        tree.append(merkle.leaf_hash(stored.note))
    found = copy.integrity()
    if tree.frontier != head.frontier:
        found.append(f"its entries do not add up to its head of {head.size}.")
    if found:
        raise DamagedRegisterError(
            f"No copy was made at {copy.path}: {found[0].rstrip('.')}; run `continuity verify`,"
            " and check both disks."
        )
    return head


def _in_file(database: Database) -> list[str]:
    try:
        found = [
            f"{database.path}: {problem}."
            for (problem,) in database.rows("PRAGMA integrity_check")
            if problem != "ok"
        ]
        return [
            *found,
            *(
                f"{database.path}: a row of {table} refers to a row of {parent} that is not there."
                for table, _, parent, _ in database.rows("PRAGMA foreign_key_check")
            ),
        ]
    except ContinuityError as error:
        return [str(error)]


def _between_tables(main: Database) -> list[str]:
    size = main.row("SELECT size FROM head")[0]
    entries, top = main.row("SELECT count(*), max(position) FROM entry")
    found = []
    if (entries, top) != ((size, size - 1) if size else (0, None)):
        found.append(
            f"{main.path}: the head counts {size} entries and {entries} stand, the last at "
            f"position {top}."
        )
    complete = sum(size >> level for level in range(1, size.bit_length()))
    (nodes,) = main.row("SELECT count(*) FROM node")
    if nodes != complete:
        found.append(
            f"{main.path}: {nodes} subtrees are kept where {size} entries make {complete}."
        )
    projected = main.rows("SELECT case_id, length, length, head, position FROM case_head")
    differing = set(projected).symmetric_difference(main.rows(CASE_HEADS))
    found.extend(
        f"{main.path}: what is kept of case {case_id} is not what its entries say; rebuild it."
        for case_id in sorted({row[0] for row in differing})
    )
    return found
