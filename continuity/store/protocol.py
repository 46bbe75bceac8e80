"""What any store of a register must do, and the small values it hands out.

A store keeps bytes in order and finds them again. It hashes, so that the tree stands beside the
entries it covers, but it judges neither signatures nor care: that is its caller's work.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol, Self

from continuity.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
    from contextlib import AbstractContextManager
    from pathlib import Path


@dataclass(frozen=True, slots=True)
class Head:
    """The whole tree in short: how many leaves, and its complete subtrees, largest first."""

    size: int
    frontier: tuple[bytes, ...]


@dataclass(frozen=True, slots=True)
class CaseHead:
    """Where one case's chain stands: its length, its last leaf and that leaf's position."""

    case_id: str
    name: str | None
    length: int
    head: bytes
    position: int


@dataclass(frozen=True, slots=True)
class Stored:
    """An entry as it lies in the store: the signed note's exact bytes and what finds them."""

    position: int
    case_id: str
    number: int
    kind: str
    note: bytes
    leaf: bytes


@dataclass(frozen=True, slots=True)
class LabelRow:
    """Which thing of which case a label's code stands for, and which printing of it is out."""

    code: str
    case_id: str
    thing: str
    print: int


@dataclass(frozen=True, slots=True)
class CheckpointRow:
    """A signed checkpoint, verbatim, with the size and root it states."""

    size: int
    root: bytes
    note: bytes


@dataclass(frozen=True, slots=True)
class Cosignature:
    """What somebody else said about the checkpoint of this size, such as a time-stamp token."""

    size: int
    kind: str
    blob: bytes


class Reads(Protocol):
    """Everything that can be asked of a store, inside a transaction or outside one.

    Every method raises `RegisterError` or one of its kinds when the store cannot answer.
    """

    @property
    def register(self) -> str:
        """The register's own id, fixed when the store was made."""

    def head(self) -> Head:
        """The tree's size and frontier; the caller computes the root from it."""

    def case_head(self, case_id: str) -> CaseHead | None:
        """Where this case's chain stands, or None when it has no entry."""

    def case_by_name(self, name: str) -> CaseHead | None:
        """The case that people know by this name, or None."""

    def case_called(self, name: str) -> CaseHead:
        """The case that people know by this name.

        Raises:
            InputError: There is none.
            DamagedRegisterError: It is not found in a table that is damaged.
        """
        head = self.case_by_name(name)
        if head is None:
            self.check_cases()
            raise InputError(f"case {name}: no such case in this register; check the number")
        return head

    def cases(self) -> Iterator[CaseHead]:
        """Every case in order of its id, the register's own chain among them, one at a time."""

    def case_heads_in_bucket(self, byte: int) -> list[CaseHead]:
        """The cases whose SHA-256 of the id begins with this byte (0-255), in digest order."""

    def entries(self, case_id: str, start: int = 0) -> list[Stored]:
        """One case's entries from number `start` on, in the order of its chain."""

    def check_cases(self) -> None:
        """Make sure that a case not found by its name is none.

        Raises:
            DamagedRegisterError: The table of cases is damaged.
        """

    def strangers(self) -> list[str]:
        """Tables, indexes, views and triggers that no register has, a sentence each."""

    def strays(self) -> list[str]:
        """Rows that no entry accounts for, and indexes that hide or feign some, a sentence each.

        It reads all tables once.
        """

    def entry_at(self, position: int) -> Stored | None:
        """The entry at this position of the whole record (from 0), or None."""

    def entry_of_leaf(self, leaf: bytes) -> Stored | None:
        """The entry with this leaf hash (32 bytes), or None."""

    def scan(self, start: int = 0, stop: int | None = None) -> Iterator[Stored]:
        """Every entry from `start` up to but not including `stop`, in constant memory.

        Without `stop` it ends where the record ended when the first entry was asked for.
        """

    def read_hashes(self, ids: Sequence[tuple[int, int]]) -> list[bytes]:
        """The hashes of complete subtrees (level, index); level 0 is a leaf.

        Raises:
            DamagedRegisterError: One of them is not there.
        """

    def scan_nodes(self, level: int, start: int = 0) -> Iterator[tuple[int, bytes]]:
        """The stored hashes of complete subtrees of one level (1 and above), by index.

        From index `start` on, in constant memory.
        """

    def label(self, code: str) -> LabelRow | None:
        """What this label's code stands for, or None."""

    def disclosures(self, position: int) -> dict[str, str]:
        """The personal details of the entry at this position that have not been erased."""

    def count_disclosures(self) -> int:
        """How many personal details are kept, those of entries never recorded included."""

    def bucket_roots(self) -> tuple[int, bytes] | None:
        """The case index last built: the tree size it covers and its 256 bucket roots, joined."""

    def labels(self) -> Iterator[LabelRow]:
        """Every label, one at a time, in order of its code."""

    def in_care(self) -> list[tuple[str, int]]:
        """The cases in the firm's care: each one's id and the position of its first entry."""

    def latest_checkpoint(self) -> CheckpointRow | None:
        """The checkpoint of the greatest size, or None."""

    def checkpoints(self, last: int | None = None) -> list[CheckpointRow]:
        """Every checkpoint, smallest first; or only so many, the largest."""

    def cosignatures(self, size: int) -> list[Cosignature]:
        """What others said about the checkpoint of this size, by kind."""


class Transaction(Reads, Protocol):
    """One change to the store, whole or not at all. Its reads see what it has already written."""

    def append(
        self, note: bytes, case_id: str, number: int, kind: str, name: str | None = None
    ) -> Stored:
        """Put a signed note at the end of the record and of its case's chain.

        Args:
            note: The note's exact bytes.
            case_id: The case whose chain it continues.
            number: Its number in that chain; must be the chain's present length.
            kind: The entry's kind.
            name: What people call the case, where this entry says so.

        Raises:
            InputError: Another case bears that name.
            RegisterError: `number` is not the chain's length, or it could not be written.
        """

    def put_disclosure(self, position: int, field: str, text: str) -> None:
        """Keep a personal detail of the entry already appended at this position."""

    def put_label(self, code: str, case_id: str, thing: str, print_number: int) -> None:
        """Note what a label's code stands for, or which printing of it is out now.

        Raises:
            InputError: The code already stands for another thing.
        """

    def put_checkpoint(self, size: int, root: bytes, note: bytes) -> None:
        """Keep a signed checkpoint; the same size and root again changes nothing.

        Raises:
            DamagedRegisterError: A checkpoint with another root stands for this size.
        """

    def put_bucket_roots(self, size: int, roots: bytes) -> None:
        """Keep the 256 bucket roots of the case index at this tree size, in place of the last."""

    def put_in_care(self, case_id: str, opened: int | None) -> None:
        """Count a case among those in care, or, with None, no longer."""

    def put_cosignature(self, size: int, kind: str, blob: bytes) -> None:
        """Keep what somebody said about the checkpoint of this size; again changes nothing.

        Raises:
            RegisterError: No checkpoint of this size is kept.
        """


class Store(Reads, Protocol):
    """A register's keeping place."""

    schema_version: int

    def writing(self) -> AbstractContextManager[Transaction]:
        """Hold the only pen: commit at a normal end, undo everything at an exception.

        Raises:
            LockedRegisterError: Another program held it longer than the wait allowed.
        """

    def erase(self, positions: Iterable[int], fields: Collection[str] = ()) -> int:
        """Delete the personal details of these entries so that their bytes are gone.

        Args:
            positions: The entries' positions.
            fields: Which details of theirs; none means all.

        Returns:
            How many details were deleted, those a crash had orphaned included.

        Raises:
            LockedRegisterError: They are deleted, but another program's reading kept their old
                bytes on the disk; call it again.
        """

    def sweep(self) -> int:
        """Delete the details of entries that were never recorded; returns how many."""

    def rebuild(
        self,
        labels: Iterable[LabelRow] | None = None,
        names: Mapping[str, str] | None = None,
    ) -> None:
        """Make the projections afresh from the entries.

        Args:
            labels: What the label table is to hold; None leaves it as it is.
            names: Names of cases by id; None keeps the names that stand.
        """

    def integrity(self) -> list[str]:
        """What is wrong with the files and between the tables; empty when nothing is."""

    def backup(self, target: Path) -> Head:
        """Copy the register to a new path as it is at one moment, while it is in use.

        Returns:
            The copy's head, once every byte of it was read back and adds up to it.

        Raises:
            InputError: Something already stands there.
            DamagedRegisterError: The copy is not whole; none is left.
        """

    def migrate(self) -> None:
        """Bring an older layout up to `schema_version`, whole or not at all."""

    def close(self) -> None:
        """Let go of the store."""

    def __enter__(self) -> Self: ...

    def __exit__(self, *exception: object) -> None: ...
