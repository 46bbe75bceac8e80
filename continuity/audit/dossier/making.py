"""Makes a dossier's machine part from a store: reads only, signs nothing, publishes nothing.

It covers what the latest published checkpoint covers; entries recorded later go along without
proof, and the reader is told how many.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from continuity.audit.anchors import COSIGNATURE
from continuity.audit.dossier.details import personal_of
from continuity.audit.dossier.what import (
    Attestation,
    Disclosed,
    Dossier,
    Earlier,
    Index,
    Indexed,
    Placed,
    Withheld,
)
from continuity.audit.version import made_with
from continuity.care.times import write_time
from continuity.errors import InputError
from continuity.ledger import caseindex, merkle
from continuity.ledger.caseindex import (
    BUCKETS,
    INDEX_CASE,
    INDEX_KIND,
    CaseProof,
    CaseRecord,
)
from continuity.ledger.keyring import KEY_KINDS, REGISTER_CASE
from continuity.ledger.merkle import HASH_BYTES
from continuity.ledger.note import Note

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from continuity.ledger.merkle import HashReader
    from continuity.store.protocol import CaseHead, CheckpointRow, Reads, Stored


KEPT_OUTSIDE = 64
"""How many of the latest checkpoints are led on from: somebody may have kept one of them."""


@dataclass(frozen=True, slots=True)
class Choice:
    """Which personal details are shown: those of these names, or all; by default none."""

    fields: frozenset[str] = frozenset()
    everything: bool = False

    def shows(self, field: str) -> bool:
        """Whether a detail of this name is shown."""
        return self.everything or field in self.fields


def make(reads: Reads, number: str, made_at: datetime, choice: Choice | None = None) -> Dossier:
    """Make the dossier of a case as it stands.

    Args:
        reads: The store, or a transaction on it.
        number: The case's number.
        made_at: The hour, UTC; the closing check is reckoned as of then.
        choice: Which personal details are shown; None shows none.

    Raises:
        InputError: There is no such case, or a field named to be shown is not one of its.
        RegisterError: The store cannot answer.
    """
    head = reads.case_called(number)
    choice = choice or Choice()
    case = [Placed(stored.position, stored.note) for stored in reads.entries(head.case_id)]
    own = [Placed(stored.position, stored.note) for stored in reads.entries(REGISTER_CASE)]
    checkpoint = _published(reads)
    size = checkpoint.size if checkpoint else 0
    index = _index(reads, head.case_id, own, case, size)
    shown, withheld = _details(reads, case, choice)
    proved = {read.position for read in case}
    proved |= {read.position for read in own if read.entry.kind in KEY_KINDS}
    return Dossier(
        made_at=write_time(made_at),
        made_with=made_with(),
        register=reads.register,
        case=head.case_id,
        checkpoint=_cosigned(reads, checkpoint) if checkpoint else None,
        attestations=_attestations(reads, checkpoint) if checkpoint else (),
        index=index,
        entries=tuple(_placed(reads, read, size, proved) for read in case),
        register_entries=tuple(_placed(reads, read, size, proved) for read in own),
        earlier=_earlier(reads, case, size),
        disclosures=shown,
        withheld=withheld,
    )


def _published(reads: Reads) -> CheckpointRow | None:
    """The latest checkpoint whose last entry records the case index; else the latest of all."""
    latest = reads.latest_checkpoint()
    if latest is None or _is_index(reads.entry_at(latest.size - 1)):
        return latest
    indexed = (r for r in reversed(reads.checkpoints()) if _is_index(reads.entry_at(r.size - 1)))
    return next(indexed, latest)


def _is_index(stored: Stored | None) -> bool:
    return stored is not None and (stored.case_id, stored.kind) == (INDEX_CASE, INDEX_KIND)


def _placed(reads: Reads, read: Placed, size: int, proved: set[int]) -> Placed:
    if read.position < size and read.position in proved:
        proof = merkle.inclusion_proof(read.position, size, reads.read_hashes)
        return replace(read, proof=proof)
    return read


def _earlier(reads: Reads, case: list[Placed], size: int) -> tuple[Earlier, ...]:
    """That the tree grew: from what authors had seen, and from what others may have kept."""
    sizes = {read.entry.seen.size for read in case if read.entry.seen}
    sizes |= {row.size for row in reads.checkpoints(KEPT_OUTSIDE)}
    read = _remembering(reads)
    return tuple(
        Earlier(before, merkle.consistency_proof(before, size, read))
        for before in sorted(sizes)
        if before <= size
    )


def _remembering(reads: Reads) -> HashReader:
    """Reads each hash once: the proofs from many sizes to one go through the same subtrees."""
    kept: dict[tuple[int, int], bytes] = {}

    def read(ids: Sequence[tuple[int, int]]) -> list[bytes]:
        new = [one for one in dict.fromkeys(ids) if one not in kept]
        kept.update(zip(new, reads.read_hashes(new), strict=True))
        return [kept[one] for one in ids]

    return read


def _details(
    reads: Reads, case: list[Placed], choice: Choice
) -> tuple[tuple[Disclosed, ...], tuple[Withheld, ...]]:
    """What is shown and what is held back; what has been erased, or is lost, is in neither."""
    shown, withheld = [], []
    names: set[str] = set()
    for read in case:
        digests = personal_of(read.entry)
        if not digests:
            continue
        names |= digests.keys()
        kept = reads.disclosures(read.position)
        for field in sorted(digests.keys() & kept.keys()):
            if choice.shows(field):
                shown.append(Disclosed(read.entry.number, kept[field]))
            else:
                withheld.append(Withheld(read.entry.number, field))
    unknown = sorted(choice.fields - names)
    if unknown:
        known = ", ".join(sorted(names)) or "none"
        raise InputError(f"{unknown[0]}: the case has no such personal detail; it has: {known}")
    return tuple(shown), tuple(withheld)


def _cosigned(reads: Reads, checkpoint: CheckpointRow) -> bytes:
    """The checkpoint's note with the cosignatures that are kept beside it."""
    note = Note.parse(checkpoint.note)
    lines = list(note.signatures)
    for row in reads.cosignatures(checkpoint.size):
        if row.kind == COSIGNATURE:
            lines += Note.parse(note.text + b"\n" + row.blob).signatures
    return Note(note.text, tuple(dict.fromkeys(lines))).encode()


def _attestations(reads: Reads, checkpoint: CheckpointRow) -> tuple[Attestation, ...]:
    return tuple(
        Attestation(row.kind, row.blob)
        for row in reads.cosignatures(checkpoint.size)
        if row.kind != COSIGNATURE
    )


def _index(
    reads: Reads, case_id: str, own: list[Placed], case: list[Placed], size: int
) -> Index | None:
    """The index that is the checkpoint's last entry, computed again as it was."""
    covered = size - 1
    stored = reads.entry_at(covered)
    if stored is None or not _is_index(stored):
        return None
    entry = _placed(reads, Placed(covered, stored.note), size, {covered})
    roots = _roots(reads, covered)

    def word(chain_id: str, chain: list[Placed]) -> Indexed | None:
        length = sum(read.position < covered for read in chain)
        if not length:
            return None
        bucket = _bucket(reads, caseindex.bucket_of(chain_id), covered)
        return _indexed(length, caseindex.prove(chain_id, bucket, roots))

    register = word(REGISTER_CASE, own)
    return Index(entry, word(case_id, case), register) if register else None


def _roots(reads: Reads, covered: int) -> list[bytes]:
    """The roots of all buckets as that index had them: those kept, or computed again."""
    kept = reads.bucket_roots()
    if kept is not None and kept[0] == covered and len(kept[1]) == BUCKETS * HASH_BYTES:
        starts = range(0, BUCKETS * HASH_BYTES, HASH_BYTES)
        return [kept[1][start : start + HASH_BYTES] for start in starts]
    return [caseindex.bucket_root(_bucket(reads, byte, covered)) for byte in range(BUCKETS)]


def _bucket(reads: Reads, byte: int, covered: int) -> list[CaseRecord]:
    records = (_record(reads, head, covered) for head in reads.case_heads_in_bucket(byte))
    return [record for record in records if record]


def _record(reads: Reads, head: CaseHead, covered: int) -> CaseRecord | None:
    """What the index said of a case whose chain may have grown since."""
    digest = caseindex.case_digest(head.case_id)
    if head.position < covered:
        return CaseRecord(digest, head.length, head.head, head.position + 1)
    last = _last_before(reads.entries(head.case_id), covered)
    return CaseRecord(digest, last.number + 1, last.leaf, last.position + 1) if last else None


def _last_before(chain: Iterable[Stored], covered: int) -> Stored | None:
    last = None
    for stored in chain:
        if stored.position >= covered:
            break
        last = stored
    return last


def _indexed(length: int, proof: CaseProof) -> Indexed:
    """An index's proof as a dossier carries it: without what the reader computes."""
    return Indexed(
        length, proof.member.position, proof.bucket_size, proof.member.path, proof.index_path
    )
