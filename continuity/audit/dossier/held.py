"""Checkpoints and receipts that somebody kept outside, held against the dossier's checkpoint.

One of the same size must have the same root. One that is smaller must be continued, which the
dossier can show for the trees its authors had seen and for the latest that were signed.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from continuity.audit.checkpoints import read_held
from continuity.audit.receiptcheck import ReceiptVerdict, compare_words, holds_entry
from continuity.audit.receipts import Receipt
from continuity.audit.report import Anchor, Finding
from continuity.audit.saying import say_from
from continuity.audit.trust import Held
from continuity.errors import FormatError
from continuity.ledger import merkle
from continuity.ledger.caseindex import INDEX_CASE
from continuity.ledger.checkpoint import Checkpoint
from continuity.ledger.keyring import REGISTER_CASE, REGISTER_ROLE
from continuity.ledger.note import Note, verify
from continuity.store.protocol import Stored

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.audit.dossier.verdict import Report
    from continuity.audit.dossier.what import Dossier
    from continuity.audit.saying import Said
    from continuity.audit.trust import Trust
    from continuity.ledger.keyring import Keyring


def judge_held(
    dossier: Dossier, checkpoint: Checkpoint, keyring: Keyring, trust: Trust
) -> Iterator[Finding | Anchor]:
    """Judge every checkpoint kept outside.

    Raises:
        FormatError: One is not a checkpoint at all.
    """
    for held, note, found in read_held(trust):
        where = f"The checkpoint of size {found.size} that {held.by} kept"
        if found.origin != dossier.register:
            yield Finding("not-the-pinned-register", f"{where} is of register {found.origin}.")
        elif not _signed(note, found, keyring):
            yield Finding("checkpoint-signature", f"{where} bears no key of this register.")
        elif found.size > checkpoint.size:
            yield Finding("anchor-unusable", f"{where} is later than the dossier's.")
        else:
            yield _compare(dossier, checkpoint, held, found, where)


def verify_receipt(receipt: Receipt | Held, report: Report, trust: Trust) -> ReceiptVerdict:
    """Hold a receipt against a dossier that was checked.

    Raises:
        FormatError: It is not a receipt.
    """
    held = receipt if isinstance(receipt, Held) else receipt.held
    given = Checkpoint.parse(Note.parse(held.note).text)
    findings = []
    if report.checkpoint is None:
        sentence = "The dossier has no sound checkpoint to hold it against."
        findings.append(Finding("anchor-unusable", sentence))
    else:
        alone = replace(trust, held=(held,))
        judged = judge_held(report.dossier, report.checkpoint, report.keyring, alone)
        findings += [one for one in judged if not isinstance(one, Anchor)]
    position, says = None, None
    if isinstance(receipt, Receipt):
        position = receipt.position
        findings += _entry(receipt, given, report.dossier)
        if not findings:
            says = _told(report.dossier, position)
            findings += compare_words(receipt, says)
    size = report.checkpoint.size if report.checkpoint else 0
    return ReceiptVerdict(held.by, size, position, given.size, report.pinned, tuple(findings), says)


def _told(dossier: Dossier, position: int) -> Said | None:
    own = [one.note for one in dossier.register_entries if one.position <= position]
    chain = [one.note for one in dossier.entries if one.position <= position]
    index = dossier.index
    try:
        if any(one.position == position for one in dossier.entries):
            return say_from(own, chain, dossier.case)
        if index is not None and index.entry.position == position:
            return say_from(own, [index.entry.note], INDEX_CASE)
        return say_from(own, own[-1:], REGISTER_CASE)
    except FormatError:
        return None  # what is wrong with the rest of its chain is named already


def _entry(receipt: Receipt, given: Checkpoint, dossier: Dossier) -> list[Finding]:
    at = receipt.position
    for case, chain in (
        (dossier.case, dossier.entries),
        (REGISTER_CASE, dossier.register_entries),
        (INDEX_CASE, (dossier.index.entry,) if dossier.index else ()),
    ):
        for number, one in enumerate(chain):
            if one.position == at:
                row = Stored(at, case, number, "", one.note, b"")
                return holds_entry(receipt, given, row)
    sentence = f"The entry at position {at}, of which it is a receipt, is none of this dossier's."
    return [Finding("anchor-unusable", sentence, at)]


def _compare(
    dossier: Dossier, checkpoint: Checkpoint, held: Held, found: Checkpoint, where: str
) -> Finding | Anchor:
    if found.size == checkpoint.size and found.root != checkpoint.root:
        return Finding("forked", f"{where} contradicts the dossier's, and both are signed.")
    if found.size < checkpoint.size:
        proof = next((one.proof for one in dossier.earlier if one.size == found.size), None)
        if proof is None:
            return Finding("anchor-unusable", f"{where} is none that this dossier leads on from.")
        try:
            merkle.verify_consistency(
                found.size, checkpoint.size, proof, found.root, checkpoint.root
            )
        except FormatError:
            return Finding("rewritten", f"{where} is not continued by the dossier's.")
    return Anchor(found.size, held.how, held.by)


def _signed(note: Note, found: Checkpoint, keyring: Keyring) -> bool:
    keys = [
        enrolment.key
        for enrolment in keyring.enrolments()
        if enrolment.role == REGISTER_ROLE and enrolment.valid_at(max(found.size - 1, 0))
    ]
    try:
        verify(note, keys)
    except FormatError:
        return False
    return True
