"""Checkpoints that somebody kept outside, held against the one in the dossier.

One of the same size must have the same root. One that is smaller must be continued, which the
dossier can show for the trees its authors had seen and for the latest that were signed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.audit.checkpoints import read_held
from continuity.audit.report import Anchor, Finding
from continuity.errors import FormatError
from continuity.ledger import merkle
from continuity.ledger.keyring import REGISTER_ROLE
from continuity.ledger.note import Note, verify

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.audit.dossier.what import Dossier
    from continuity.audit.trust import Held, Trust
    from continuity.ledger.checkpoint import Checkpoint
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
