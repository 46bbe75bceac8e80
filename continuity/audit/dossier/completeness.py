"""Is anything left out, and was anything rewritten: the case index, and what authors had seen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.errors import FormatError
from continuity.ledger import caseindex, merkle
from continuity.ledger.caseindex import CaseProof, CaseRecord, Member
from continuity.ledger.keyring import REGISTER_CASE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from continuity.audit.dossier.verdict import Report
    from continuity.audit.dossier.what import Dossier, Indexed, Placed, Proof
    from continuity.ledger.chain import Entry
    from continuity.ledger.checkpoint import Checkpoint

INDEX_KIND = "cases-indexed"

Chain = tuple[str, "Indexed | None", "Sequence[tuple[Entry, bytes]]", "Sequence[Placed]"]


def check_index(dossier: Dossier, checkpoint: Checkpoint, report: Report) -> None:
    """Hold both chains against the case index under the checkpoint."""
    index = dossier.index
    if index is None:
        return
    if index.number >= len(report.house):
        if not report.keys_known:
            return
        report.add("index-differs", "The entry that records the case index is not in the dossier.")
        return
    entry, leaf = report.house[index.number]
    at = dossier.register_entries[index.number].position
    proof = dossier.register_entries[index.number].proof
    try:
        root = _root(entry, at, checkpoint.size)
        merkle.verify_inclusion(leaf, at, checkpoint.size, proof or (), checkpoint.root)
    except FormatError as error:
        report.add(
            "index-differs", str(error), case=REGISTER_CASE, number=index.number, position=at
        )
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
        report.complete_to = before


def _root(entry: Entry, at: int, size: int) -> bytes:
    """The index's root as its entry records it, if that entry stands where it says."""
    if at != size - 1:
        raise merkle.ProofError("The case index is not the last entry under the checkpoint.")
    root = entry.details.get("root")
    if entry.kind != INDEX_KIND or entry.details.get("size") != at:
        raise merkle.ProofError(
            f"The entry at position {at} records no index of what is before it."
        )
    try:
        found = bytes.fromhex(root) if isinstance(root, str) else b""
    except ValueError:
        found = b""
    if len(found) != merkle.HASH_BYTES or found.hex() != root:
        raise merkle.ProofError("The case index's root is not 64 lower-case hex digits.")
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
