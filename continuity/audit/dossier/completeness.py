"""Is anything left out, and was anything rewritten: the case index, and what authors had seen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.errors import FormatError
from continuity.ledger import caseindex, merkle
from continuity.ledger.caseindex import INDEX_CASE, INDEX_KIND, CaseProof, CaseRecord, Member
from continuity.ledger.keyring import REGISTER_CASE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from continuity.audit.dossier.verdict import Report
    from continuity.audit.dossier.what import Dossier, Indexed, Placed, Proof
    from continuity.ledger.chain import Entry
    from continuity.ledger.checkpoint import Checkpoint

Chain = tuple[str, "Indexed | None", "Sequence[tuple[Entry, bytes]]", "Sequence[Placed]"]


def check_chains(dossier: Dossier, at: int, root: bytes, report: Report) -> None:
    """Hold both chains against the case index whose root is recorded at a position."""
    index = dossier.index
    if index is None:
        return
    chains: tuple[Chain, ...] = (
        (REGISTER_CASE, index.register, report.house, dossier.register_entries),
        (dossier.case, index.case, report.entries, dossier.entries),
    )
    for chain, followed in zip(chains, (report.keys_known, report.followed), strict=True):
        if followed:
            _check_chain(chain, at, root, report)


def _check_chain(chain: Chain, at: int, root: bytes, report: Report) -> None:
    chain_id, word, entries, placed = chain
    before = sum(one.position < at for one in placed[: len(entries)])
    counted = word.length if word else 0
    if counted != before:
        report.add(
            "beyond-index" if counted > before else "index-differs",
            f"The case index counts {counted} entries of this chain before position {at}; the"
            f" dossier holds {before}.",
            case=chain_id,
        )
        return
    if word:
        record = CaseRecord(
            caseindex.case_digest(chain_id),
            before,
            entries[before - 1][1],
            placed[before - 1].position + 1,
        )
        member = Member(record, word.position, word.path)
        proof = CaseProof(member, word.bucket_size, word.index_path)
        try:
            caseindex.verify_case(chain_id, before, record.head, proof, root)
        except FormatError as error:
            report.add("index-differs", str(error), case=chain_id)
            return
        if chain_id != REGISTER_CASE:
            report.complete_to = before  # a chain that it has no word on, it vouches for in nothing


def root_recorded(entry: Entry, one: Placed, register: str, checkpoint: Checkpoint) -> bytes:
    """The case index's root as its entry records it, if that is the checkpoint's last entry.

    Raises:
        FormatError: It is not, or records none.
    """
    at = one.position
    if at != checkpoint.size - 1:
        raise merkle.ProofError("The case index is not the last entry under the checkpoint.")
    if (entry.register, entry.case, entry.kind) != (register, INDEX_CASE, INDEX_KIND) or (
        entry.details.get("size") != at
    ):
        raise merkle.ProofError(
            f"The entry at position {at} records no index of what is before it."
        )
    root = entry.details.get("root")
    try:
        found = bytes.fromhex(root) if isinstance(root, str) else b""
    except ValueError:
        found = b""
    if len(found) != merkle.HASH_BYTES or found.hex() != root:
        raise merkle.ProofError("The case index's root is not 64 lower-case hex digits.")
    leaf = merkle.leaf_hash(one.note)
    merkle.verify_inclusion(leaf, at, checkpoint.size, one.proof or (), checkpoint.root)
    return found


def check_seen(dossier: Dossier, checkpoint: Checkpoint, report: Report) -> None:
    """What each author had seen must be the beginning of the checkpoint's tree."""
    proofs = {earlier.size: earlier.proof for earlier in dossier.earlier}
    faults: dict[tuple[int, bytes], str | None] = {}
    for (entry, _), one in zip(report.entries, dossier.entries, strict=False):
        seen = entry.seen
        if seen is None or checkpoint.size < seen.size <= one.position:
            continue
        if seen.size > one.position:
            fault: str | None = f"Its author had seen {seen.size} entries, itself among them."
        else:
            key = (seen.size, seen.root)
            if key not in faults:
                faults[key] = _growth(seen.size, seen.root, proofs.get(seen.size), checkpoint)
            fault = faults[key]
        if fault:
            report.add(
                "seen-differs",
                fault,
                case=dossier.case,
                number=entry.number,
                position=one.position,
            )


def _growth(size: int, root: bytes, proof: Proof | None, checkpoint: Checkpoint) -> str | None:
    """What speaks against the checkpoint's tree beginning with this one, if anything."""
    if proof is None:
        return f"Nothing shows that the tree grew from the {size} entries its author had seen."
    try:
        merkle.verify_consistency(size, checkpoint.size, proof, root, checkpoint.root)
    except FormatError as error:
        return str(error)
    return None
