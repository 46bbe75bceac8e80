"""What a receipt shows: that today's register continues the one that gave it, or where it does not.

The receipt's own checkpoint gives size and root, so that nothing the register says of itself is
believed but its bytes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from continuity.audit.authority import pinned, read_authority
from continuity.audit.checkpoints import Checkpoints
from continuity.audit.receipts import Receipt, read_receipt
from continuity.audit.report import KEY_UNGIVEN, LATEST_UNKNOWN, Anchor, Finding, Weight
from continuity.audit.saying import say, teller_of
from continuity.audit.trust import Held, Trust
from continuity.audit.version import made_with
from continuity.errors import ContinuityError, FormatError
from continuity.ledger import merkle
from continuity.ledger.checkpoint import Checkpoint
from continuity.ledger.note import Note

if TYPE_CHECKING:
    from continuity.audit.saying import Said
    from continuity.store.protocol import Reads, Stored

WORDS_DIFFER = "receipt-words-differ"


@dataclass(frozen=True)
class ReceiptVerdict:
    """What a receipt shows about today's register, or about a dossier.

    Attributes:
        by: Who holds it.
        size: How many entries the register has today, or the dossier's checkpoint covers.
        position: The position the receipt is about; None for a checkpoint alone.
        given_at_size: How many entries there were when the receipt was given.
        pinned: Whether the register's key was given from outside.
        findings: What does not fit; none means that today's register continues that one.
        says: What the entry says, told anew from its bytes; None where it is not told.
    """

    by: str
    size: int
    position: int | None
    given_at_size: int
    pinned: bool
    findings: tuple[Finding, ...]
    says: Said | None = None

    @property
    def sound(self) -> bool:
        """Whether nothing contradicts it."""
        return not any(finding.weight is Weight.BROKEN for finding in self.findings)

    @property
    def words_hold(self) -> bool:
        """Whether the words of the receipt, if it has any, were not found to differ."""
        return all(finding.code != WORDS_DIFFER for finding in self.findings)

    @property
    def words(self) -> str:
        """The verdict in one sentence."""
        key = "" if self.pinned else f"; {KEY_UNGIVEN}"
        against = [finding for finding in self.findings if finding.code != WORDS_DIFFER]
        if against:
            what = "not shown" if self.sound else "NOT the register that gave this receipt"
            return f"{what}: {against[0].sentence}{key}"
        what = (
            "the checkpoint" if self.position is None else f"the entry at position {self.position}"
        )
        but = "" if self.words_hold else "; but THE RECEIPT'S OWN WORDS ARE NOT THE ENTRY'S"
        return (
            f"the register of {self.size} entries continues the one of {self.given_at_size} that"
            f" gave this receipt, and holds {what} as it was{but}{key}; {LATEST_UNKNOWN}"
        )

    def as_json(self) -> dict[str, Any]:
        """Give the verdict as JSON holds it."""
        return {
            "by": self.by,
            "sound": self.sound,
            "words_hold": self.words_hold,
            "size": self.size,
            "position": self.position,
            "given_at_size": self.given_at_size,
            "says": None if self.says is None else self.says.text,
            "findings": [finding.as_json() for finding in self.findings],
            "words": self.words,
        }


def verify_receipt(
    text: str | bytes | Receipt | Held, reads: Reads, trust: Trust | None = None
) -> ReceiptVerdict:
    """Hold a receipt against today's register.

    The receipt's own checkpoint gives size and root; that today's register begins with that tree is
    computed from its stored nodes, and the entry is hashed from its bytes. A whole verification
    with the receipt's checkpoint among what it trusts hashes every other entry as well.

    Raises:
        FormatError: It is not a receipt.
        RegisterError: The register cannot be read.
    """
    receipt = text if isinstance(text, Receipt | Held) else read_receipt(text)
    trust = trust or Trust()
    authority, _ = read_authority(reads)
    held = receipt if isinstance(receipt, Held) else receipt.held
    note = Note.parse(held.note)
    given = Checkpoint.parse(note.text)
    size = reads.head().size
    roots = {given.size: _root(reads, given.size)} if given.size <= size else {}
    judge = Checkpoints(reads.register, authority, trust, size, roots, None)
    is_pinned, _, findings = pinned(reads.register, authority, trust)
    findings += [one for one in judge.held(held, note, given) if not isinstance(one, Anchor)]
    position, says = None, None
    if isinstance(receipt, Receipt):
        position, stored = receipt.position, reads.entry_at(receipt.position)
        findings += holds_entry(receipt, given, stored)
        if stored is not None and not findings:
            says = _told(reads, stored)
            findings += compare_words(receipt, says)
    return ReceiptVerdict(held.by, size, position, given.size, is_pinned, tuple(findings), says)


def _told(reads: Reads, stored: Stored) -> Said | None:
    try:
        return say(reads, stored)
    except ContinuityError:
        return None  # what is wrong with the rest of its chain is for the whole audit to name


def compare_words(receipt: Receipt, says: Said | None) -> list[Finding]:
    """Whether a receipt's words, and the page around them, are what its entry says, told anew.

    The words are for people and covered by no signature, so the proof holds whatever they say.
    """
    if says is None or not receipt.words:
        return []
    teller = teller_of(receipt.words)
    again = replace(says, told_by=teller)
    if receipt.words.strip() == again.text.strip() and _is_its_page(receipt, again):
        return []
    why = (
        "they were altered since they were told"
        if teller == made_with()
        else f"they were altered, or {teller or 'the program that told them'}, which is not this"
        f" {made_with()}, tells it otherwise"
    )
    sentence = f"The words on the receipt of {receipt.by} are not what its entry says: {why}."
    return [Finding(WORDS_DIFFER, f"{sentence} Read what is told anew, or scan the code instead.")]


def _is_its_page(receipt: Receipt, says: Said) -> bool:
    if receipt.page is None:
        return True
    from continuity.audit.receiptpage import Page, write_html  # noqa: PLC0415 - few hold a page

    again = write_html(Page(receipt, says))
    return receipt.page.replace(b"\r\n", b"\n").strip() == again.strip()


def holds_entry(receipt: Receipt, given: Checkpoint, stored: Stored | None) -> list[Finding]:
    """What is wrong with a receipt's own proof, or with the entry that lies at its position."""
    at = receipt.position
    try:
        merkle.verify_inclusion(receipt.leaf, at, given.size, receipt.proof, given.root)
    except FormatError as error:
        sentence = f"The receipt's own proof does not lead to its checkpoint: {error}"
        return [Finding("receipt-differs", sentence, at)]
    if stored is None:
        return [Finding("entry-missing", f"No entry lies at position {at} any more.", at)]
    if type(stored.note) is not bytes or merkle.leaf_hash(stored.note) != receipt.leaf:
        sentence = f"Another entry lies at position {at} than the receipt was given for."
        return [Finding("rewritten", sentence, at, stored.case_id, stored.number)]
    return []


def _root(reads: Reads, size: int) -> bytes:
    try:
        return merkle.root(size, reads.read_hashes)
    except ContinuityError:
        return b""
