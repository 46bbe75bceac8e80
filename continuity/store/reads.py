"""Reading a register in SQLite, within a transaction and outside one.

All of it goes over one connection, which sees its own uncommitted writing.
"""

# ruff: noqa: D102 - the protocol says what each method promises

from __future__ import annotations

from types import NoneType
from typing import TYPE_CHECKING, Any

from continuity.errors import DamagedRegisterError
from continuity.ledger.chain import MAX_ENTRY_BYTES
from continuity.ledger.merkle import HASH_BYTES
from continuity.store import strangers
from continuity.store.protocol import (
    CaseHead,
    CheckpointRow,
    Cosignature,
    Head,
    LabelRow,
    Reads,
    Stored,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from continuity.store.database import Database

CHUNK = 200  # rows held at a time by the streaming reads

# A longer note than an entry may be is none, and is not read: an audit then names where it lies.
_ENTRY = f"""SELECT position, case_id, number, kind,
    CASE WHEN length(note) > {MAX_ENTRY_BYTES} THEN x'' ELSE note END, leaf FROM entry"""
_CASE = "SELECT case_id, name, length, head, position FROM case_head"


_CASE_TYPES = ((str, str, int, bytes, int), (str, NoneType, int, bytes, int))


class SqliteReads(Reads):
    """What can be read; see `protocol.Reads`."""

    def __init__(self, main: Database, personal: Database, register: str) -> None:
        self._main = main
        self._personal = personal
        self._register = register

    @property
    def register(self) -> str:
        return self._register

    def head(self) -> Head:
        size, frontier = self._main.row("SELECT size, frontier FROM head")
        if (type(size), type(frontier)) != (int, bytes) or len(
            frontier
        ) != HASH_BYTES * size.bit_count():
            raise DamagedRegisterError(
                f"{self._main.path} contradicts itself about its size; restore it from a backup."
            )
        return Head(
            size, tuple(frontier[n : n + HASH_BYTES] for n in range(0, len(frontier), HASH_BYTES))
        )

    def case_head(self, case_id: str) -> CaseHead | None:
        return self._case(self._main.row(f"{_CASE} WHERE case_id = ?", (case_id,)))

    def case_by_name(self, name: str) -> CaseHead | None:
        return self._case(self._main.row(f"{_CASE} WHERE name = ?", (name,)))

    def cases(self) -> Iterator[CaseHead]:
        after = ""
        while rows := self._main.rows(
            f"{_CASE} WHERE case_id > ? ORDER BY case_id LIMIT ?", (after, CHUNK)
        ):
            for row in rows:
                yield CaseHead(*row)
            after = rows[-1][0]

    def case_heads_in_bucket(self, byte: int) -> list[CaseHead]:
        # One byte longer than any digest, so above the last of the bucket.
        bounds = (bytes([byte]), bytes([byte]) + b"\xff" * HASH_BYTES)
        rows = self._main.rows(f"{_CASE} WHERE digest BETWEEN ? AND ? ORDER BY digest", bounds)
        return [CaseHead(*row) for row in rows]

    def entries(self, case_id: str, start: int = 0) -> list[Stored]:
        rows = self._main.rows(
            f"{_ENTRY} WHERE case_id = ? AND number >= ? ORDER BY number", (case_id, start)
        )
        return [Stored(*row) for row in rows]

    def check_cases(self) -> None:
        ((found,), *_) = self._main.rows("PRAGMA integrity_check(case_head)")
        if found != "ok":
            raise DamagedRegisterError(
                f"{self._main.path} does not find all its cases ({found}); restore it from a "
                "backup."
            )

    def strangers(self) -> list[str]:
        return list(strangers.objects(self._main, self._personal))

    def strays(self) -> list[str]:
        return list(strangers.rows(self._main, self._personal))

    def entry_at(self, position: int) -> Stored | None:
        row = self._main.row(f"{_ENTRY} WHERE position = ?", (position,))
        return Stored(*row) if row else None

    def entry_of_leaf(self, leaf: bytes) -> Stored | None:
        row = self._main.row(f"{_ENTRY} WHERE leaf = ?", (leaf,))
        return Stored(*row) if row else None

    def scan(self, start: int = 0, stop: int | None = None) -> Iterator[Stored]:
        # By chunks, so that no long read keeps the write-ahead log from being emptied.
        stop = self.head().size if stop is None else stop
        while rows := self._main.rows(
            f"{_ENTRY} WHERE position >= ? AND position < ? ORDER BY position LIMIT ?",
            (start, stop, CHUNK),
        ):
            for row in rows:
                yield Stored(*row)
            start = rows[-1][0] + 1

    def read_hashes(self, ids: Sequence[tuple[int, int]]) -> list[bytes]:
        return [self._hash(level, index) for level, index in ids]

    def scan_nodes(self, level: int, start: int = 0) -> Iterator[tuple[int, bytes]]:
        while rows := self._main.rows(
            "SELECT position, hash FROM node WHERE level = ? AND position >= ? "
            "ORDER BY position LIMIT ?",
            (level, start, CHUNK),
        ):
            yield from rows
            start = rows[-1][0] + 1

    def label(self, code: str) -> LabelRow | None:
        row = self._main.row(
            "SELECT code, case_id, thing, print FROM label WHERE code = ?", (code,)
        )
        return LabelRow(*row) if row else None

    def disclosures(self, position: int) -> dict[str, str]:
        leaf = self._main.row("SELECT leaf FROM entry WHERE position = ?", (position,))
        if leaf is None:
            return {}
        return dict(
            self._personal.rows(
                "SELECT field, disclosure FROM disclosure WHERE leaf = ? ORDER BY field", leaf
            )
        )

    def count_disclosures(self) -> int:
        count: int = self._personal.row("SELECT count(*) FROM disclosure")[0]
        return count

    def bucket_roots(self) -> tuple[int, bytes] | None:
        row: tuple[int, bytes] | None = self._main.row("SELECT size, roots FROM case_index")
        return row

    def in_care(self) -> list[tuple[str, int]]:
        return self._main.rows("SELECT case_id, opened FROM in_care ORDER BY case_id")

    def labels(self) -> Iterator[LabelRow]:
        after = ""
        while rows := self._main.rows(
            "SELECT code, case_id, thing, print FROM label WHERE code > ? ORDER BY code LIMIT ?",
            (after, CHUNK),
        ):
            for row in rows:
                yield LabelRow(*row)
            after = rows[-1][0]

    def latest_checkpoint(self) -> CheckpointRow | None:
        row = self._main.row("SELECT size, root, note FROM checkpoint ORDER BY size DESC LIMIT 1")
        return CheckpointRow(*row) if row else None

    def checkpoints(self, last: int | None = None) -> list[CheckpointRow]:
        rows = self._main.rows(
            "SELECT size, root, note FROM checkpoint ORDER BY size DESC LIMIT ?",
            (-1 if last is None else last,),
        )
        return [CheckpointRow(*row) for row in reversed(rows)]

    def cosignatures(self, size: int) -> list[Cosignature]:
        rows = self._main.rows(
            "SELECT size, kind, blob FROM cosignature WHERE size = ? ORDER BY kind, blob", (size,)
        )
        return [Cosignature(*row) for row in rows]

    def _case(self, row: Any) -> CaseHead | None:
        if row is None:
            return None
        # A damaged page can hold a row that its table would never have taken.
        if tuple(map(type, row)) not in _CASE_TYPES:
            raise DamagedRegisterError(
                f"{self._main.path} holds a damaged row of a case; restore it from a backup."
            )
        return CaseHead(*row)

    def _hash(self, level: int, index: int) -> bytes:
        row = (
            self._main.row("SELECT hash FROM node WHERE level = ? AND position = ?", (level, index))
            if level
            else self._main.row("SELECT leaf FROM entry WHERE position = ?", (index,))
        )
        if row is None:
            raise DamagedRegisterError(
                f"{self._main.path} lacks the hash of subtree {index} at level {level}; restore it "
                "from a backup."
            )
        found: bytes = row[0]
        return found
