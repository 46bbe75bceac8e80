"""Receipts: what the other party takes home, so that rewriting the register would show.

A receipt's text is the act in words, a line of dashes, and a C2SP tlog-proof: the entry's leaf hash
stands in the proof's `extra`, then its position, the way to the root, and the signed checkpoint.
Whoever holds it can show later that the register has only grown since, or that it has not.
"""

from __future__ import annotations

import base64
from dataclasses import dataclass, field
from html import unescape
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from continuity.audit.trust import Held
from continuity.errors import FormatError, InputError
from continuity.ledger import checkpoint as checkpoints
from continuity.ledger import merkle
from continuity.ledger.checkpoint import Checkpoint
from continuity.ledger.keys import SIGNATURE_BYTES
from continuity.ledger.merkle import HASH_BYTES
from continuity.ledger.note import KEY_ID_BYTES, Note, SignatureLine

if TYPE_CHECKING:
    from continuity.store.protocol import Reads

TYPE_LINE = "continuity-receipt/1"
BEARER = "the bearer of the receipt"
COMPACT = "CONTINUITY1:"
"""Begins the compact form; the rest is base32, so that a QR code stays in its denser mode."""

MAX_TEXT_BYTES = 65_535
MAX_PAGE_BYTES = 8 * MAX_TEXT_BYTES
"""Most bytes of a receipt's HTML page, which holds its text and its code's drawing."""

MAX_COMPACT = 1_451
"""Most characters of the compact form: what a QR code of version 25 holds at level M, in its
alphanumeric mode (ISO/IEC 18004, from memory); larger ones are hard to scan from paper."""

_PAGE = b"<!doctype html>"
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
        by: Who holds it.
        page: The HTML page it was read from, which must be compared before its words are believed.
    """

    words: str
    leaf: bytes
    position: int
    proof: tuple[bytes, ...]
    checkpoint: bytes
    by: str = BEARER
    page: bytes | None = field(default=None, repr=False, compare=False)

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
        return Held(self.checkpoint, self.by, "receipt")

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


def read_receipt(text: str | bytes, by: str = BEARER) -> Receipt | Held:
    """Read a receipt, in any of its forms, or a checkpoint alone, which is then held by its bearer.

    Args:
        text: Its text, its HTML page, or what was scanned from its code, with or without the
            line end that a scanner may put behind it or leave out.
        by: Who holds it.

    Raises:
        FormatError: It is none.
    """
    whole = text if isinstance(text, bytes) else text.encode(errors="replace")
    data = _bare(whole)
    if data.startswith(COMPACT.encode()):
        return _expand(data, by)
    words, data = _split(data)
    if not data.startswith(checkpoints.PROOF_TYPE):
        Checkpoint.parse(Note.parse(data).text)
        return Held(data, by, "receipt")
    proof = checkpoints.parse_proof(data)
    if proof.extra is None or len(proof.extra) != HASH_BYTES:
        raise FormatError("The receipt does not give the entry's leaf hash.")
    page = whole if whole.startswith(_PAGE) else None
    return Receipt(words, proof.extra, proof.index, proof.hashes, proof.checkpoint, by, page)


def _split(data: bytes) -> tuple[str, bytes]:
    """The words of a receipt's text, and its proof; a proof or a checkpoint alone has no words."""
    if not data.startswith(b"continuity-receipt/"):
        return "", data
    if not data.startswith(TYPE_LINE.encode() + b"\n"):
        raise FormatError("The receipt is of a version this program does not know; update it.")
    said, rule, proof = data.partition(f"\n{_RULE}\n".encode())
    if not rule:
        raise FormatError("The receipt holds no proof after its words.")
    return said.decode(errors="replace").partition("\n")[2], proof


def _bare(data: bytes) -> bytes:
    """The receipt without the page around it, and with the line ends it was written with."""
    if len(data) > MAX_PAGE_BYTES:
        raise FormatError(f"The receipt is longer than {MAX_PAGE_BYTES} bytes.")
    if data.startswith(b"%PDF-"):
        raise FormatError("A PDF is for people: scan its code, or give the receipt's text or page.")
    if data.startswith(_PAGE):
        data = _in_page(data)
    if len(data) > MAX_TEXT_BYTES:
        raise FormatError(f"The receipt is longer than {MAX_TEXT_BYTES} bytes.")
    return data.replace(b"\r\n", b"\n").strip(b" \n") + b"\n"  # as editors and scanners leave it


def _in_page(data: bytes) -> bytes:
    """The receipt's text as it stands in its HTML page."""
    _, opens, rest = data.partition(b'<pre id="receipt">')
    text, closes, _ = rest.partition(b"</pre>")
    if not opens or not closes:
        raise FormatError("The page is not a receipt's; a dossier is given without --receipt.")
    return unescape(text.decode(errors="replace")).encode()


def _expand(data: bytes, by: str) -> Receipt:
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
    return Receipt("", leaf, position, tuple(proof), Note.parse(note).encode(), by)


_NUMBERS = 8 + 8 + 1
_FIXED = _NUMBERS + HASH_BYTES + KEY_ID_BYTES + SIGNATURE_BYTES
