"""What new entries rest on, where an audit begins at a checkpoint that was verified before.

Nothing before the checkpoint is gone through again. What the new entries need from there - the
entry before each case's first new one, and the register's own chain with its keys - is proved to
stand in the tree whose root the checkpoint gives.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.audit.report import Finding
from continuity.errors import ContinuityError, FormatError
from continuity.ledger import merkle
from continuity.ledger.chain import ChainChecker, read_entry
from continuity.ledger.checkpoint import Checkpoint
from continuity.ledger.keyring import KEY_KINDS, REGISTER_CASE
from continuity.ledger.note import Note

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from continuity.audit.entries import Checked
    from continuity.audit.walk import ChainHead
    from continuity.store.protocol import Reads, Stored


class Earlier:
    """The record up to a trusted checkpoint.

    Args:
        reads: The register.
        size: How many entries the checkpoint covers.
        root: Its root; whether the register has it is judged elsewhere.
    """

    def __init__(self, reads: Reads, size: int, root: bytes) -> None:
        self._reads = reads
        self.size = size
        self._root = root

    @classmethod
    def from_note(cls, reads: Reads, note: bytes) -> Earlier:
        """Begin at a signed checkpoint.

        Raises:
            FormatError: The note is not a checkpoint.
        """
        checkpoint = Checkpoint.parse(Note.parse(note).text)
        return cls(reads, checkpoint.size, checkpoint.root)

    def frontier(self) -> tuple[bytes, ...]:
        """The complete subtrees of the record up to there, largest first, as they are stored."""
        return merkle.frontier(self.size, self._reads.read_hashes)

    def root_at(self, size: int) -> bytes:
        """The root of a still smaller tree, proved to be the beginning of the trusted one.

        Empty where it cannot be.
        """
        read = self._reads.read_hashes
        try:
            root = merkle.root(size, read)
            proof = merkle.consistency_proof(size, self.size, read)
            merkle.verify_consistency(size, self.size, proof, root, self._root)
        except ContinuityError:
            return b""
        return root

    def before(self, entry: Checked) -> tuple[int, bytes] | None:
        """The length and head of a case before its first new entry, proved by the old tree."""
        rows = self._reads.entries(entry.case, max(entry.number - 1, 0))
        row = next(iter(rows), None)
        if row is None or row.position >= self.size or not self._holds(row):
            return None
        return row.number + 1, merkle.leaf_hash(row.note)

    def own_chain(self) -> tuple[list[Stored], list[Finding]]:
        """The entries of the register's own chain that change keys, from both sides of it.

        The chain before the checkpoint is followed from its first entry, and its last is proved
        to stand in the old tree.
        """
        rows = self._reads.entries(REGISTER_CASE)
        old = [row for row in rows if row.position < self.size]
        chain = ChainChecker(self._reads.register, REGISTER_CASE)
        findings = []
        try:
            for row in old:
                chain.accept(read_entry(row.note)[0], merkle.leaf_hash(row.note))
        except FormatError as error:
            bad = Finding("chain-broken", str(error), row.position, REGISTER_CASE, row.number)
            findings.append(bad)
        if not findings and (not old or not self._holds(old[-1])):
            sentence = "The register's own chain does not stand in the trusted tree."
            findings.append(Finding("case-unlinked", sentence, 0, REGISTER_CASE))
        return [row for row in rows if row.kind in KEY_KINDS], findings

    def heads(self, known: Collection[str]) -> Iterator[tuple[str, ChainHead]]:
        """Where the chains stood at the checkpoint, of all cases that are not known."""
        known = frozenset(known)
        for case in self._reads.cases():
            if case.case_id in known:
                continue
            if case.position < self.size:
                yield case.case_id, (case.length, case.head, case.position)
                continue
            rows = [r for r in self._reads.entries(case.case_id) if r.position < self.size]
            if rows:
                last = rows[-1]
                yield case.case_id, (last.number + 1, last.leaf, last.position)

    def _holds(self, row: Stored) -> bool:
        leaf = merkle.leaf_hash(row.note)
        try:
            proof = merkle.inclusion_proof(row.position, self.size, self._reads.read_hashes)
            merkle.verify_inclusion(leaf, row.position, self.size, proof, self._root)
        except ContinuityError:
            return False
        return True
