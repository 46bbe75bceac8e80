"""A register in memory, for tests: it promises all that one on a disk does, but to last."""

# ruff: noqa: D102 - the protocol says what each method promises

from __future__ import annotations

from contextlib import contextmanager
from copy import copy
from dataclasses import dataclass, field, replace
from hashlib import sha256
from typing import TYPE_CHECKING, NoReturn, Self

from continuity.errors import DamagedRegisterError, InputError, RegisterError
from continuity.ledger import merkle
from continuity.store.protocol import (
    CaseHead,
    CheckpointRow,
    Cosignature,
    Head,
    LabelRow,
    Reads,
    Store,
    Stored,
    Transaction,
)
from continuity.store.schema import VERSION

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
    from pathlib import Path


@dataclass
class _Tables:
    """Everything kept. No value is ever changed in place, so a shallow copy is a snapshot."""

    frontier: tuple[bytes, ...] = ()
    entries: list[Stored] = field(default_factory=list)
    nodes: dict[tuple[int, int], bytes] = field(default_factory=dict)
    positions: dict[bytes, int] = field(default_factory=dict)
    cases: dict[str, CaseHead] = field(default_factory=dict)
    checkpoints: dict[int, CheckpointRow] = field(default_factory=dict)
    cosignatures: set[Cosignature] = field(default_factory=set)
    labels: dict[str, LabelRow] = field(default_factory=dict)
    disclosures: dict[tuple[int, str], str] = field(default_factory=dict)
    bucket_roots: tuple[tuple[int, bytes], ...] = ()
    in_care: dict[str, int] = field(default_factory=dict)

    def snapshot(self) -> _Tables:
        return _Tables(**{name: copy(value) for name, value in vars(self).items()})


class MemoryReads(Reads):
    """What can be read; see `protocol.Reads`."""

    def __init__(self, register: str, tables: _Tables) -> None:
        self._register = register
        self._tables = tables

    @property
    def register(self) -> str:
        return self._register

    def head(self) -> Head:
        return Head(len(self._tables.entries), self._tables.frontier)

    def case_head(self, case_id: str) -> CaseHead | None:
        return self._tables.cases.get(case_id)

    def case_by_name(self, name: str) -> CaseHead | None:
        return next((case for case in self._tables.cases.values() if case.name == name), None)

    def cases(self) -> Iterator[CaseHead]:
        for case_id in sorted(self._tables.cases):
            yield self._tables.cases[case_id]

    def case_heads_in_bucket(self, byte: int) -> list[CaseHead]:
        digests = {sha256(case_id.encode()).digest(): case_id for case_id in self._tables.cases}
        return [self._tables.cases[digests[d]] for d in sorted(digests) if d[0] == byte]

    def entries(self, case_id: str, start: int = 0) -> list[Stored]:
        return [e for e in self._tables.entries if e.case_id == case_id and e.number >= start]

    def check_cases(self) -> None:
        pass

    def strangers(self) -> list[str]:
        return []

    def strays(self) -> list[str]:
        return []

    def entry_at(self, position: int) -> Stored | None:
        within = 0 <= position < len(self._tables.entries)
        return self._tables.entries[position] if within else None

    def entry_of_leaf(self, leaf: bytes) -> Stored | None:
        position = self._tables.positions.get(leaf)
        return None if position is None else self._tables.entries[position]

    def scan(self, start: int = 0, stop: int | None = None) -> Iterator[Stored]:
        size = len(self._tables.entries)
        for position in range(start, size if stop is None else min(stop, size)):
            yield self._tables.entries[position]

    def read_hashes(self, ids: Sequence[tuple[int, int]]) -> list[bytes]:
        return [self._hash(level, index) for level, index in ids]

    def scan_nodes(self, level: int, start: int = 0) -> Iterator[tuple[int, bytes]]:
        while (level, start) in self._tables.nodes:
            yield start, self._tables.nodes[level, start]
            start += 1

    def label(self, code: str) -> LabelRow | None:
        return self._tables.labels.get(code)

    def disclosures(self, position: int) -> dict[str, str]:
        kept = sorted(self._tables.disclosures.items())
        return {name: text for (where, name), text in kept if where == position}

    def count_disclosures(self) -> int:
        return len(self._tables.disclosures)

    def bucket_roots(self) -> tuple[int, bytes] | None:
        return next(iter(self._tables.bucket_roots), None)

    def in_care(self) -> list[tuple[str, int]]:
        return sorted(self._tables.in_care.items())

    def labels(self) -> Iterator[LabelRow]:
        for code in sorted(self._tables.labels):
            yield self._tables.labels[code]

    def latest_checkpoint(self) -> CheckpointRow | None:
        return max(self._tables.checkpoints.values(), key=lambda row: row.size, default=None)

    def checkpoints(self, last: int | None = None) -> list[CheckpointRow]:
        rows = sorted(self._tables.checkpoints.values(), key=lambda row: row.size)
        return rows if last is None else rows[max(0, len(rows) - last) :]

    def cosignatures(self, size: int) -> list[Cosignature]:
        of_size = (row for row in self._tables.cosignatures if row.size == size)
        return sorted(of_size, key=lambda row: (row.kind, row.blob))

    def _hash(self, level: int, index: int) -> bytes:
        if level:
            found = self._tables.nodes.get((level, index))
        else:
            stored = self.entry_at(index)
            found = stored.leaf if stored else None
        if found is None:
            raise DamagedRegisterError(f"The hash of subtree {index} at level {level} is not kept.")
        return found


class MemoryTransaction(MemoryReads, Transaction):
    """One change; made by `MemoryStore.writing`, dead when that ends."""

    ended = False

    def append(
        self, note: bytes, case_id: str, number: int, kind: str, name: str | None = None
    ) -> Stored:
        self._must_be_open()
        tables = self._tables
        case = tables.cases.get(case_id)
        bearer = None if name is None else self.case_by_name(name)
        if bearer and bearer.case_id != case_id:
            raise InputError(f"Another case is already named {name}; choose another name.")
        if number != (case.length if case else 0):
            raise RegisterError(
                f"An entry numbered {number} does not follow on the last of case {case_id}; "
                "read the case again."
            )
        position, leaf = len(tables.entries), merkle.leaf_hash(note)
        if leaf in tables.positions:
            raise DamagedRegisterError(f"This entry already stands at {tables.positions[leaf]}.")
        nodes, tables.frontier = merkle.completed_nodes(position, leaf, tables.frontier)
        tables.nodes.update({(level, index): found for level, index, found in nodes})
        stored = Stored(position, case_id, number, kind, note, leaf)
        tables.entries.append(stored)
        tables.positions[leaf] = position
        if name is None and case:
            name = case.name
        tables.cases[case_id] = CaseHead(case_id, name, number + 1, leaf, position)
        return stored

    def put_disclosure(self, position: int, field: str, text: str) -> None:
        self._must_be_open()
        if self.entry_at(position) is None:
            raise RegisterError(
                f"No entry stands at position {position} to keep a detail of; append it first."
            )
        self._tables.disclosures[position, field] = text

    def put_label(self, code: str, case_id: str, thing: str, print_number: int) -> None:
        self._must_be_open()
        known = self._tables.labels.get(code)
        if known and (known.case_id, known.thing) != (case_id, thing):
            raise InputError(f"Label {code} already stands for another thing; use another label.")
        self._tables.labels[code] = LabelRow(code, case_id, thing, print_number)

    def put_checkpoint(self, size: int, root: bytes, note: bytes) -> None:
        self._must_be_open()
        kept = self._tables.checkpoints.setdefault(size, CheckpointRow(size, root, note))
        if kept.root != root:
            raise DamagedRegisterError(
                f"A checkpoint of size {size} with another root is already held; have the "
                "register audited before going on."
            )

    def put_bucket_roots(self, size: int, roots: bytes) -> None:
        self._must_be_open()
        self._tables.bucket_roots = ((size, roots),)

    def put_in_care(self, case_id: str, opened: int | None) -> None:
        self._must_be_open()
        if opened is None:
            self._tables.in_care.pop(case_id, None)
        else:
            self._tables.in_care[case_id] = opened

    def put_cosignature(self, size: int, kind: str, blob: bytes) -> None:
        self._must_be_open()
        if size not in self._tables.checkpoints:
            raise RegisterError(f"No checkpoint of size {size} is kept here to put a word to.")
        self._tables.cosignatures.add(Cosignature(size, kind, blob))

    def _must_be_open(self) -> None:
        if self.ended:
            raise RegisterError("The change has ended and cannot be added to; begin another.")


class MemoryStore(MemoryReads, Store):
    """A register that lasts as long as the process; see `protocol.Store`."""

    schema_version = VERSION
    _transaction: MemoryTransaction | None = None

    def __init__(self, register: str) -> None:
        super().__init__(register, _Tables())

    @contextmanager
    def writing(self) -> Iterator[MemoryTransaction]:
        self._must_not_be_writing()
        before = self._tables.snapshot()
        self._transaction = transaction = MemoryTransaction(self._register, self._tables)
        try:
            yield transaction
        except BaseException:
            self._tables = before
            raise
        finally:
            self._transaction = None
            transaction.ended = True

    def erase(self, positions: Iterable[int], fields: Collection[str] = ()) -> int:
        self._must_not_be_writing()
        wanted = set(positions)
        gone = [
            (position, field)
            for position, field in self._tables.disclosures
            if position in wanted and (not fields or field in fields)
        ]
        for key in gone:
            del self._tables.disclosures[key]
        return len(gone)

    def sweep(self) -> int:
        self._must_not_be_writing()
        return 0  # nothing here can be kept by halves

    def rebuild(
        self,
        labels: Iterable[LabelRow] | None = None,
        names: Mapping[str, str] | None = None,
    ) -> None:
        with self.writing() as transaction:
            tables = self._tables
            tables.bucket_roots = ()
            kept = {case.case_id: case.name for case in tables.cases.values()}
            tables.cases = {
                entry.case_id: CaseHead(
                    entry.case_id, None, entry.number + 1, entry.leaf, entry.position
                )
                for entry in tables.entries
            }
            for case_id, name in (kept if names is None else names).items():
                tables.cases[case_id] = replace(tables.cases[case_id], name=name)
            if labels is not None:
                tables.labels = {}
                for row in labels:
                    transaction.put_label(row.code, row.case_id, row.thing, row.print)

    def integrity(self) -> list[str]:
        return []

    def backup(self, target: Path | str) -> NoReturn:
        raise RegisterError(f"A register in memory has no files to copy to {target}.")

    def migrate(self) -> None:
        """Nothing here is ever older than the program."""

    def close(self) -> None:
        """Nothing is held open."""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *exception: object) -> None:
        self.close()

    def _must_not_be_writing(self) -> None:
        if self._transaction is not None:
            raise RegisterError("A change is still under way; end it first.")
