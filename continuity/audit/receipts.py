"""Receipts: what the other party takes home, so that rewriting the register would show.

A receipt's text is the act in words, a line of dashes, and a C2SP tlog-proof: the entry's leaf hash
stands in the proof's `extra`, then its position, the way to the root, and the signed checkpoint.
Whoever holds it can show later that the register has only grown since, or that it has not.
"""

from __future__ import annotations

import base64
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from continuity.audit.authority import pinned, read_authority
from continuity.audit.checkpoints import Checkpoints
from continuity.audit.report import Anchor, Finding
from continuity.audit.trust import Held, Trust
from continuity.errors import ContinuityError, FormatError, InputError
from continuity.ledger import checkpoint as checkpoints
from continuity.ledger import merkle
from continuity.ledger.checkpoint import Checkpoint
from continuity.ledger.keys import SIGNATURE_BYTES
from continuity.ledger.merkle import HASH_BYTES
from continuity.ledger.note import KEY_ID_BYTES, Note, SignatureLine

if TYPE_CHECKING:
    from continuity.store.protocol import Reads

TYPE_LINE = "continuity-receipt/1"
COMPACT = "CONTINUITY1:"
"""Begins the compact form; the rest is base32, so that a QR code stays in its denser mode."""

MAX_TEXT_BYTES = 65_535
MAX_COMPACT = 1_451
"""Most characters of the compact form: what a QR code of version 25 holds at level M, in its
alphanumeric mode (ISO/IEC 18004, from memory); larger ones are hard to scan from paper."""

_RULE = "-" * 16
"""Divides the words, which are for people, from the proof."""


@dataclass(frozen=True)
class Receipt:
    """That one entry stands at its position under one signed checkpoint.

    Attributes:
        words: The act in plain words; for people, and covered by no signature.
        leaf: The entry's leaf hash, 32 bytes.
        position: Its position in the register, from 0.
        proof: The way from the leaf to the checkpoint's root, 32 bytes each.
        checkpoint: The signed checkpoint's exact bytes.
    """

    words: str
    leaf: bytes
    position: int
    proof: tuple[bytes, ...]
    checkpoint: bytes

    def text(self) -> str:
        """Give the receipt as text; `read_receipt` reads it again.

        Raises:
            FormatError: The words hold a line that would end them early.
        """
        if any(line.strip() == _RULE for line in self.words.splitlines()):
            raise FormatError("The receipt's words hold the line that ends them.")
        proof = checkpoints.format_proof(self.position, self.proof, self.checkpoint, self.leaf)
        return f"{TYPE_LINE}\n{self.words.strip()}\n{_RULE}\n{proof.decode()}"

    def compact(self) -> str | None:
        """Give leaf, position, proof and checkpoint for a QR code; None where they do not fit.

        The root is left out: the proof leads to it. Where this does not fit, print the checkpoint.
        """
        note = Note.parse(self.checkpoint)
        given = Checkpoint.parse(note.text)
        own = [line for line in note.signatures if line.name == given.origin]
        if len(own) != 1 or len(own[0].blob) != SIGNATURE_BYTES:
            return None
        numbers = self.position.to_bytes(8) + given.size.to_bytes(8) + bytes([len(self.proof)])
        hashes = self.leaf + b"".join(self.proof)
        data = numbers + hashes + own[0].key_id + own[0].blob + given.origin.encode()
        text = COMPACT + base64.b32encode(data).decode().rstrip("=")
        return text if len(text) <= MAX_COMPACT else None

    @property
    def held(self) -> Held:
        """The checkpoint it was given under, for a whole verification to rest on."""
        return Held(self.checkpoint, "the bearer of the receipt", "receipt")

    def as_json(self) -> dict[str, Any]:
        """Give the receipt as JSON holds it."""
        return {
            "receipt": TYPE_LINE,
            "words": self.words,
            "leaf": self.leaf.hex(),
            "position": self.position,
            "proof": [found.hex() for found in self.proof],
            "checkpoint": self.checkpoint.decode(),
        }


def make_receipt(reads: Reads, position: int, words: str) -> Receipt:
    """Make the receipt of an entry under the register's latest checkpoint.

    Raises:
        InputError: There is no such entry, or no checkpoint covers it yet.
        RegisterError: The register cannot be read.
    """
    row, stored = reads.latest_checkpoint(), reads.entry_at(position)
    if stored is None or row is None or position >= row.size:
        raise InputError(
            f"No checkpoint covers an entry at position {position}; publish one first."
        )
    proof = merkle.inclusion_proof(position, row.size, reads.read_hashes)
    merkle.verify_inclusion(merkle.leaf_hash(stored.note), position, row.size, proof, row.root)
    return Receipt(words, stored.leaf, position, proof, row.note)


def read_receipt(text: str | bytes) -> Receipt | Held:
    """Read a receipt, in either form, or a checkpoint alone, which is then held by its bearer.

    Raises:
        FormatError: It is neither.
    """
    data = text if isinstance(text, bytes) else text.encode(errors="replace")
    if len(data) > MAX_TEXT_BYTES:
        raise FormatError(f"The receipt is longer than {MAX_TEXT_BYTES} bytes.")
    words = ""
    if data.startswith(COMPACT.encode()):
        return _expand(data)
    if data.startswith(b"continuity-receipt/"):
        data = data.replace(b"\r\n", b"\n")  # as some editors save it
        if not data.startswith(TYPE_LINE.encode() + b"\n"):
            raise FormatError("The receipt is of a version this program does not know; update it.")
        said, rule, data = data.partition(f"\n{_RULE}\n".encode())
        if not rule:
            raise FormatError("The receipt holds no proof after its words.")
        words = said.decode(errors="replace").partition("\n")[2]
    if not data.startswith(checkpoints.PROOF_TYPE):
        Checkpoint.parse(Note.parse(data).text)
        return Held(data, "the bearer of the receipt", "receipt")
    proof = checkpoints.parse_proof(data)
    if proof.extra is None or len(proof.extra) != HASH_BYTES:
        raise FormatError("The receipt does not give the entry's leaf hash.")
    return Receipt(words, proof.extra, proof.index, proof.hashes, proof.checkpoint)


@dataclass(frozen=True)
class ReceiptVerdict:
    """What a receipt shows about today's register.

    Attributes:
        size: How many entries the register has today.
        position: The position the receipt is about; None for a checkpoint alone.
        given_at_size: How many entries there were when the receipt was given.
        pinned: Whether the register's key was given from outside.
        findings: What does not fit; none means that today's register continues that one.
    """

    size: int
    position: int | None
    given_at_size: int
    pinned: bool
    findings: tuple[Finding, ...]

    @property
    def sound(self) -> bool:
        """Whether today's register continues the one that gave the receipt."""
        return not self.findings

    @property
    def words(self) -> str:
        """The verdict in one sentence."""
        pinned = "" if self.pinned else "; key taken from the register itself: not pinned"
        if self.findings:
            return f"NOT the register that gave this receipt: {self.findings[0].sentence}{pinned}"
        what = "the checkpoint" if self.position is None else f"entry {self.position + 1}"
        return (
            f"the register of {self.size} entries continues the one of {self.given_at_size} that"
            f" gave this receipt, and holds {what} as it was{pinned}; freshness unknown"
        )

    def as_json(self) -> dict[str, Any]:
        """Give the verdict as JSON holds it."""
        return {
            "shape": "continuity-receipt-verification/1",
            "sound": self.sound,
            "size": self.size,
            "position": self.position,
            "given_at_size": self.given_at_size,
            "pinned": self.pinned,
            "findings": [finding.as_json() for finding in self.findings],
            "words": self.words,
        }


def verify_receipt(
    text: str | bytes | Receipt | Held, reads: Reads, trust: Trust | None = None
) -> ReceiptVerdict:
    """Hold a receipt against today's register.

    The receipt's own checkpoint gives size and root; that today's register begins with that tree is
    computed from its stored nodes, and the entry is hashed from its bytes. A whole verification
    with `Receipt.held` among what it trusts hashes every other entry as well.

    Raises:
        FormatError: It is not a receipt.
        RegisterError: The register cannot be read.
    """
    receipt = text if isinstance(text, Receipt | Held) else read_receipt(text)
    trust = trust or Trust()
    authority, _ = read_authority(reads)
    note = Note.parse(receipt.note if isinstance(receipt, Held) else receipt.checkpoint)
    given = Checkpoint.parse(note.text)
    size = reads.head().size
    roots = {given.size: _root(reads, given.size)} if given.size <= size else {}
    judge = Checkpoints(reads.register, authority, trust, size, roots, None)
    held = receipt if isinstance(receipt, Held) else receipt.held
    is_pinned, _, findings = pinned(reads.register, authority, trust)
    findings += [one for one in judge.held(held, note, given) if not isinstance(one, Anchor)]
    if isinstance(receipt, Receipt):
        findings += _entry(receipt, given, reads)
    position = receipt.position if isinstance(receipt, Receipt) else None
    return ReceiptVerdict(size, position, given.size, is_pinned, tuple(findings))


def _entry(receipt: Receipt, given: Checkpoint, reads: Reads) -> list[Finding]:
    at = receipt.position
    try:
        merkle.verify_inclusion(receipt.leaf, at, given.size, receipt.proof, given.root)
    except FormatError as error:
        sentence = f"The receipt's own proof does not lead to its checkpoint: {error}"
        return [Finding("receipt-differs", sentence, at)]
    stored = reads.entry_at(at)
    if stored is None:
        return [Finding("entry-missing", f"No entry lies at position {at} any more.", at)]
    if merkle.leaf_hash(stored.note) != receipt.leaf:
        sentence = f"Another entry lies at position {at} than the receipt was given for."
        return [Finding("rewritten", sentence, at, stored.case_id, stored.number)]
    return []


def _root(reads: Reads, size: int) -> bytes:
    try:
        return merkle.root(size, reads.read_hashes)
    except ContinuityError:
        return b""


def _expand(data: bytes) -> Receipt:
    """Read the compact form: the checkpoint is written again around the root the proof leads to."""
    spelling = data[len(COMPACT) :].strip()
    try:
        packed = base64.b32decode(spelling + b"=" * (-len(spelling) % 8))
    except ValueError:
        packed = b""
    if base64.b32encode(packed).rstrip(b"=") != spelling or len(packed) <= _FIXED:
        raise FormatError("The compact receipt is not base32, or not whole.")
    position, size = int.from_bytes(packed[:8]), int.from_bytes(packed[8:16])
    ends = [_NUMBERS + n * HASH_BYTES for n in range(packed[16] + 2)]
    leaf, *proof = (packed[start:end] for start, end in pairwise(ends))
    key_id = packed[ends[-1] : ends[-1] + KEY_ID_BYTES]
    rest = packed[ends[-1] + KEY_ID_BYTES :]
    if len(rest) <= SIGNATURE_BYTES:
        raise FormatError("The compact receipt ends early.")
    try:
        origin = rest[SIGNATURE_BYTES:].decode()
    except UnicodeDecodeError:
        raise FormatError("The compact receipt names no register.") from None
    root = merkle.inclusion_root(leaf, position, size, proof)
    line = SignatureLine(origin, key_id, rest[:SIGNATURE_BYTES])
    note = Note(Checkpoint(origin, size, root).text(), (line,)).encode()
    return Receipt("", leaf, position, tuple(proof), Note.parse(note).encode())


_NUMBERS = 8 + 8 + 1
_FIXED = _NUMBERS + HASH_BYTES + KEY_ID_BYTES + SIGNATURE_BYTES
