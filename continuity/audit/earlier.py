"""What new entries rest on, where an audit begins at a checkpoint that was verified before.

Nothing before the checkpoint is gone through again. What the new entries need from there - the
entry before each case's first new one, and the register's own chain with its keys - is proved to
stand in the tree whose root the checkpoint gives. That the register's own chain has no more entries
than were found, a revocation at its end say, is what the last case index under the checkpoint says.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.audit.entries import EntryChecker
from continuity.audit.report import Finding
from continuity.audit.walk import ChainOrder, Index, OwnFaults
from continuity.errors import ContinuityError, FormatError
from continuity.ledger import merkle
from continuity.ledger.caseindex import INDEX_CASE, INDEX_KIND
from continuity.ledger.chain import ChainChecker, read_entry
from continuity.ledger.checkpoint import Checkpoint
from continuity.ledger.keyring import REGISTER_CASE
from continuity.ledger.note import Note

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence

    from continuity.audit.authority import Authority
    from continuity.audit.entries import Checked
    from continuity.audit.walk import ChainHead, Fault
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
        if row is None or row.position >= self.size or not self.holds(row):
            return None
        return row.number + 1, merkle.leaf_hash(row.note)

    def own_chain(self) -> tuple[list[Stored], list[Finding]]:
        """The entries of the register's own chain, from both sides of it.

        The chain before the checkpoint is followed from its first entry, and its last is proved
        to stand in the old tree. So is the last entry of all, by which an index is found.
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
        if not findings and (not old or not self.holds(old[-1])):
            sentence = "The register's own chain does not stand in the trusted tree."
            findings.append(Finding("case-unlinked", sentence, 0, REGISTER_CASE))
        if self.size and not findings:
            last = self._reads.entry_at(self.size - 1)
            if last is None or not self.holds(last):
                sentence = "The last entry under the trusted checkpoint is not found."
                findings.append(Finding("entry-missing", sentence, self.size - 1))
        return rows, findings

    def last_index(self) -> Stored | None:
        """The last case index under the checkpoint; where that was published, its last entry."""
        last = self._reads.entry_at(self.size - 1)
        if last is not None and _states(last) == (INDEX_CASE, INDEX_KIND):
            return last
        indexes = self._reads.entries(INDEX_CASE)
        return next((row for row in reversed(indexes) if row.position < self.size), None)

    def check_index(
        self, row: Stored, own: Sequence[Stored], authority: Authority
    ) -> tuple[Checked, tuple[Fault, ...]]:
        """What is wrong with a case index, held against the chains as they stood before it.

        Args:
            row: The entry that records it.
            own: The register's own chain as it was found, which nothing else shows to be whole.
            authority: The keys.
        """
        earlier = Earlier(self._reads, row.position, b"")

        def heads(known: Collection[str]) -> Iterator[tuple[str, ChainHead]]:
            before = [one for one in own if one.position < row.position]
            if before:
                leaf = merkle.leaf_hash(before[-1].note)
                yield REGISTER_CASE, (len(before), leaf, before[-1].position)
            yield from earlier.heads({REGISTER_CASE, *known})

        (entry,) = EntryChecker(self._reads, authority).check([row])
        index = Index(ChainOrder(self._reads.register), heads)
        return entry, (*OwnFaults().accept(entry), *index.accept(entry))

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

    def holds(self, row: Stored) -> bool:
        """Whether a row's bytes are what the trusted tree has at its position."""
        leaf = merkle.leaf_hash(row.note)
        try:
            proof = merkle.inclusion_proof(row.position, self.size, self._reads.read_hashes)
            merkle.verify_inclusion(leaf, row.position, self.size, proof, self._root)
        except ContinuityError:
            return False
        return True


def _states(row: Stored) -> tuple[str, str] | None:
    """The case and kind that an entry's bytes state, if they can be read."""
    try:
        entry, _ = read_entry(row.note)
    except (FormatError, TypeError):
        return None
    return entry.case, entry.kind
