"""Publishing: the case index is recorded, and the checkpoint that covers it is signed.

What is to be signed is read from the disk and hashed again first: a key must never vouch for bytes
that rotted after they were written.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from continuity.care.acts.house import CasesIndexed
from continuity.care.intent import Intent
from continuity.errors import DamagedRegisterError, FormatError, InputError
from continuity.ledger import caseindex, checkpoint, merkle
from continuity.ledger.caseindex import BUCKETS, CaseRecord
from continuity.ledger.chain import read_entry
from continuity.ledger.checkpoint import Checkpoint
from continuity.ledger.merkle import HASH_BYTES
from continuity.store.protocol import CheckpointRow

if TYPE_CHECKING:
    from collections.abc import Sequence

    from continuity.ledger.keys import SigningKey
    from continuity.recording import Receipt, Recorder, Signatory
    from continuity.store.protocol import CaseHead, Reads, Transaction


@dataclass(frozen=True, slots=True)
class Published:
    """A case index recorded, and the checkpoint that covers it."""

    index: Receipt
    checkpoint: CheckpointRow


@dataclass(frozen=True, slots=True)
class CaseIndex:
    """The roots of the 256 buckets, how many cases they cover, at which size of the tree."""

    roots: tuple[bytes, ...]
    count: int
    size: int


NO_INDEX = CaseIndex((merkle.EMPTY_ROOT,) * BUCKETS, 0, 0)


def publish(
    pen: Transaction, recorder: Recorder, signatories: Sequence[Signatory], key: SigningKey
) -> Published:
    """Record the case index as it is now, and sign the checkpoint that covers it.

    Raises:
        RefusedError: The signatories may not publish.
        DamagedRegisterError: What lies on the disk is not what was recorded.
    """
    index = case_index(pen)
    root = caseindex.index_root(index.roots).hex()
    act = CasesIndexed(root=root, count=index.count, size=index.size)
    receipt = recorder.record(Intent(act), signatories)
    pen.put_bucket_roots(index.size, b"".join(index.roots))
    return Published(receipt, sign_tree(pen, key))


def sign_tree(pen: Transaction, key: SigningKey) -> CheckpointRow:
    """Sign the present tree, once what came since the last checkpoint is hashed again.

    Raises:
        InputError: There is nothing to sign.
        DamagedRegisterError: What lies on the disk is not what was recorded.
    """
    head, last = pen.head(), pen.latest_checkpoint()
    if not head.size:
        raise InputError("The register has no entries, so there is nothing to sign.")
    if last is not None and last.size == head.size:
        return last
    root = merkle.root_of_frontier(_hash_again(pen, last))
    note = checkpoint.sign(Checkpoint(pen.register, head.size, root), key).encode()
    pen.put_checkpoint(head.size, root, note)
    return CheckpointRow(head.size, root, note)


def case_index(reads: Reads) -> CaseIndex:
    """Build the case index; only the buckets of cases with new entries are hashed again.

    Raises:
        DamagedRegisterError: What is kept of a case is not what its entries say.
    """
    index = _last_index(reads)
    heads: dict[str, tuple[int, bytes, int]] = {}
    opened = 0
    for stored in reads.scan(index.size):
        heads[stored.case_id] = (stored.number + 1, stored.leaf, stored.position)
        opened += stored.number == 0
    for case_id, head in heads.items():
        kept = reads.case_head(case_id)
        if kept is None or (kept.length, kept.head, kept.position) != head:
            raise DamagedRegisterError(
                f"What is kept of case {case_id} is not what its entries say; run `continuity"
                " verify`, and make the tables afresh or restore from a backup."
            )
    roots = list(index.roots)
    for bucket in {caseindex.bucket_of(case_id) for case_id in heads}:
        roots[bucket] = caseindex.bucket_root(bucket_records(reads, bucket))
    return CaseIndex(tuple(roots), index.count + opened, reads.head().size)


def bucket_records(reads: Reads, bucket: int) -> list[CaseRecord]:
    """The case index's records of one bucket (0-255) as the cases stand now, in digest order."""
    return [_record(head) for head in reads.case_heads_in_bucket(bucket)]


def _record(head: CaseHead) -> CaseRecord:
    digest = caseindex.case_digest(head.case_id)
    return CaseRecord(digest, head.length, head.head, head.position + 1)


def _last_index(reads: Reads) -> CaseIndex:
    """The index last recorded, if the roots kept are its own; else an empty one."""
    kept = reads.bucket_roots()
    stored = None if kept is None else reads.entry_at(kept[0])
    if kept is None or stored is None or stored.kind != caseindex.INDEX_KIND:
        return NO_INDEX
    size, joined = kept
    if len(joined) == BUCKETS * HASH_BYTES:
        roots = tuple(joined[n : n + HASH_BYTES] for n in range(0, len(joined), HASH_BYTES))
        try:
            recorded = read_entry(stored.note)[0].details
        except FormatError:
            return NO_INDEX  # what has rotted is named when it is hashed again
        count, root = recorded.get("count"), caseindex.index_root(roots).hex()
        if (recorded.get("size"), recorded.get("root")) == (size, root) and type(count) is int:
            return CaseIndex(roots, count, size)
    return NO_INDEX


def _hash_again(reads: Reads, last: CheckpointRow | None) -> tuple[bytes, ...]:
    """Read what came since the last checkpoint, and give the whole tree's frontier."""
    size = last.size if last else 0
    frontier = merkle.frontier(size, reads.read_hashes)
    if last is not None and merkle.root_of_frontier(frontier) != last.root:
        raise _rotten(f"the tree of {size} entries is not the one that was signed")
    for stored in reads.scan(size):
        leaf = merkle.leaf_hash(stored.note)
        nodes, frontier = merkle.completed_nodes(stored.position, leaf, frontier)
        kept = reads.read_hashes([(0, stored.position), *((level, n) for level, n, _ in nodes)])
        if list(kept) != [leaf, *(found for _, _, found in nodes)]:
            raise _rotten(f"entry {stored.number} of case {stored.case_id} was altered on the disk")
        size += 1
    if frontier != reads.head().frontier:
        raise _rotten("the head row is not that of the entries")
    return frontier


def _rotten(what: str) -> DamagedRegisterError:
    return DamagedRegisterError(
        f"Nothing was signed: {what}; run `continuity verify`, and restore from a backup."
    )
