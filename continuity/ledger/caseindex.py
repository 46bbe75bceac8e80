"""The case index: proves how many entries a case has, its last one too, and that a case is not.

One record for each case (digest of its id, length, leaf hash of its last entry) lies in one of 256
buckets, by the digest's first byte. A bucket is an RFC 9162 tree over its records in the order of
their digests; the index is such a tree over the 256 buckets. Publishing it again rehashes only the
buckets that changed.

A proof of absence rests on two records being neighbours, and an RFC 9162 proof does not bind the
tree's size; a bucket's root therefore covers the number of its records too.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from continuity.errors import FormatError
from continuity.ledger import canonical, merkle
from continuity.ledger.keyring import REGISTER_CASE
from continuity.ledger.merkle import EMPTY_ROOT, HASH_BYTES, ProofError

if TYPE_CHECKING:
    from collections.abc import Sequence

BUCKETS = 256

INDEX_CASE = "case-index"
"""The id of the chain in which each case index is recorded, and nothing else."""

OWN_CHAINS = frozenset({REGISTER_CASE, INDEX_CASE})
"""The ids of the two chains that are no case's."""

INDEX_KIND = "cases-indexed"
"""The kind of its entries: the root of the index, right before the checkpoint that covers it."""

_BUCKET_PREFIX = b"continuity-bucket/1\n"


@dataclass(frozen=True)
class CaseRecord:
    """What the index says of a case.

    Attributes:
        digest: SHA-256 of the case's id, 32 bytes.
        length: How many entries the case has.
        head: Leaf hash of its last entry, 32 bytes.
        size: Size of the tree that ends with that entry: its position plus one.
    """

    digest: bytes
    length: int
    head: bytes
    size: int

    def encode(self) -> bytes:
        """Give the record's bytes, which are hashed into its bucket: canonical JSON."""
        # Written out, for a bucket has hundreds; that it is canonical, a test holds it to.
        return (
            f'{{"case":"{self.digest.hex()}","head":"{self.head.hex()}","length":{self.length},'
            f'"size":{self.size}}}'
        ).encode()

    @classmethod
    def parse(cls, data: bytes) -> CaseRecord:
        """Read a record's bytes.

        Raises:
            FormatError: Not such a record, to the letter.
        """
        fields = canonical.decode(data)
        if tuple(fields) != ("case", "head", "length", "size"):
            raise FormatError("The bytes are not a case's record: other fields stand in it.")
        record = cls(_hash(fields["case"]), fields["length"], _hash(fields["head"]), fields["size"])
        if not (
            type(record.length) is int
            and type(record.size) is int
            and 1 <= record.length <= record.size
        ):
            raise FormatError("A case's record does not give a sensible length and size.")
        return record


@dataclass(frozen=True)
class Member:
    """One record and its way to its bucket's root."""

    record: CaseRecord
    position: int
    path: tuple[bytes, ...]


@dataclass(frozen=True)
class CaseProof:
    """Proves what the index says of a case: its record's way up to the index's root."""

    member: Member
    bucket_size: int
    index_path: tuple[bytes, ...]


@dataclass(frozen=True)
class AbsenceProof:
    """Proves that the index knows no such case: its neighbours in the bucket, if there are any."""

    before: Member | None
    after: Member | None
    bucket_size: int
    index_path: tuple[bytes, ...]


def case_digest(case_id: str) -> bytes:
    """Give the digest under which a case stands in the index: SHA-256 of its id, 32 bytes."""
    return sha256(case_id.encode()).digest()


def bucket_of(case_id: str) -> int:
    """Tell which of the 256 buckets a case's record belongs into."""
    return case_digest(case_id)[0]


def bucket_root(records: Sequence[CaseRecord]) -> bytes:
    """Give the root of a bucket's records, sorted by digest; `EMPTY_ROOT` if there are none.

    Raises:
        FormatError: The records are not sorted, a case occurs twice, or not all belong together.
    """
    digests = [record.digest for record in records]
    if digests != sorted(set(digests)) or len({digest[0] for digest in digests}) > 1:
        raise FormatError("A bucket's records are not of one bucket, each case once, in order.")
    return root_of_leaves([merkle.leaf_hash(record.encode()) for record in records])


def root_of_leaves(leaves: Sequence[bytes]) -> bytes:
    """Give the root of a bucket from its records' leaf hashes, in the order of their digests."""
    tree = merkle.TreeBuilder()
    for leaf in leaves:
        tree.append(leaf)
    return _bound(len(leaves), tree.root())


def index_root(bucket_roots: Sequence[bytes]) -> bytes:
    """Give the index's root: the RFC 9162 tree over the 256 bucket roots.

    Raises:
        FormatError: There are not 256 roots of 32 bytes.
    """
    return merkle.root(BUCKETS, _index_reader(bucket_roots))


def prove(
    case_id: str, bucket_records: Sequence[CaseRecord], bucket_roots: Sequence[bytes]
) -> CaseProof:
    """Prove what the index says of a case.

    Args:
        case_id: The case.
        bucket_records: All records of the case's bucket, sorted by digest.
        bucket_roots: The roots of all 256 buckets.

    Raises:
        ProofError: The bucket does not hold the case.
    """
    position = _place(case_id, bucket_records)
    if not _holds(case_id, bucket_records, position):
        raise ProofError(f"The index does not hold case {case_id}.")
    return CaseProof(
        _member(position, bucket_records),
        len(bucket_records),
        merkle.inclusion_proof(bucket_of(case_id), BUCKETS, _index_reader(bucket_roots)),
    )


def verify_case(
    case_id: str, length: int, head: bytes, proof: CaseProof, index_root: bytes
) -> None:
    """Check that the index says a case has `length` entries, the last with leaf hash `head`.

    Raises:
        ProofError: It does not say so, or the proof does not lead to the index's root.
    """
    record = proof.member.record
    if record.digest != case_digest(case_id):
        raise ProofError(f"The proof is not about case {case_id}.")
    if record.length != length or record.head != head:
        raise ProofError(
            f"The index says that case {case_id} has {record.length} entries, not these {length}."
        )
    root = _root_through(proof.member, proof.bucket_size)
    _verify_bucket(case_id, root, proof.index_path, index_root)


def prove_absent(
    case_id: str, bucket_records: Sequence[CaseRecord], bucket_roots: Sequence[bytes]
) -> AbsenceProof:
    """Prove that the index does not hold a case; the arguments are those of `prove`.

    Raises:
        ProofError: It does hold the case.
    """
    position = _place(case_id, bucket_records)
    if _holds(case_id, bucket_records, position):
        raise ProofError(f"The index holds case {case_id}.")
    size = len(bucket_records)
    return AbsenceProof(
        _member(position - 1, bucket_records) if position else None,
        _member(position, bucket_records) if position < size else None,
        size,
        merkle.inclusion_proof(bucket_of(case_id), BUCKETS, _index_reader(bucket_roots)),
    )


def verify_absent(case_id: str, proof: AbsenceProof, index_root: bytes) -> None:
    """Check that the index does not hold a case.

    Raises:
        ProofError: The records shown are not the case's neighbours, or the proof does not lead to
            the index's root.
    """
    digest, before, after = case_digest(case_id), proof.before, proof.after
    gap = 0 if before is None else before.position + 1
    if (
        (before is not None and not before.record.digest < digest)
        or (after is not None and not digest < after.record.digest)
        or gap != (proof.bucket_size if after is None else after.position)
    ):
        raise ProofError(f"The records shown are not the neighbours of case {case_id}.")
    roots = {
        _root_through(member, proof.bucket_size) for member in (before, after) if member is not None
    }
    if len(roots) > 1:
        raise ProofError("The two records shown do not lie in one bucket.")
    root = roots.pop() if roots else EMPTY_ROOT
    _verify_bucket(case_id, root, proof.index_path, index_root)


def _bound(size: int, root: bytes) -> bytes:
    return sha256(_BUCKET_PREFIX + size.to_bytes(8) + root).digest() if size else EMPTY_ROOT


def _root_through(member: Member, bucket_size: int) -> bytes:
    leaf = merkle.leaf_hash(member.record.encode())
    return _bound(
        bucket_size, merkle.inclusion_root(leaf, member.position, bucket_size, member.path)
    )


def _verify_bucket(case_id: str, root: bytes, path: Sequence[bytes], index_root: bytes) -> None:
    merkle.verify_inclusion(merkle.leaf_hash(root), bucket_of(case_id), BUCKETS, path, index_root)


def _member(position: int, records: Sequence[CaseRecord]) -> Member:
    read = merkle.reader_of([merkle.leaf_hash(record.encode()) for record in records])
    path = merkle.inclusion_proof(position, len(records), read)
    return Member(records[position], position, path)


def _place(case_id: str, records: Sequence[CaseRecord]) -> int:
    return bisect_left(records, case_digest(case_id), key=lambda record: record.digest)


def _holds(case_id: str, records: Sequence[CaseRecord], position: int) -> bool:
    return position < len(records) and records[position].digest == case_digest(case_id)


def _index_reader(bucket_roots: Sequence[bytes]) -> merkle.HashReader:
    if len(bucket_roots) != BUCKETS or any(len(root) != HASH_BYTES for root in bucket_roots):
        raise FormatError("The index needs the roots of all 256 buckets, 32 bytes each.")
    return merkle.reader_of([merkle.leaf_hash(root) for root in bucket_roots])


def _hash(value: Any) -> bytes:
    try:
        found = bytes.fromhex(value)
    except (TypeError, ValueError):
        found = b""
    if len(found) != HASH_BYTES or found.hex() != value:
        raise FormatError("A digest in a case's record is not 64 lower-case hex digits.")
    return found
