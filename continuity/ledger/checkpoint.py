"""Checkpoints of the tree, their cosignatures, and the offline proof of one entry.

After C2SP tlog-checkpoint v1.0.0, tlog-cosignature v1.0.1 (its Ed25519 form) and tlog-proof (no
release yet). A checkpoint carries no time: time comes from cosignatures or time stamps.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from continuity.errors import FormatError
from continuity.ledger import note as notes
from continuity.ledger.keys import PublicKey
from continuity.ledger.merkle import HASH_BYTES, MAX_PROOF
from continuity.ledger.note import Note, SignatureError, SignatureLine, from_base64, to_base64

if TYPE_CHECKING:
    from collections.abc import Sequence

    from continuity.ledger.keys import SigningKey, VerifyKey

MAX_SIZE = 2**63 - 1
"""Largest tree size and cosignature time."""

PROOF_TYPE = b"c2sp.org/tlog-proof@v1"

_TIME_BYTES = 8
_DECIMAL = re.compile(rb"0|[1-9][0-9]{0,18}").fullmatch


@dataclass(frozen=True)
class Checkpoint:
    """A tree's state: the log's origin, the number of leaves, and the root (32 bytes)."""

    origin: str
    size: int
    root: bytes

    def text(self) -> bytes:
        """Give the text that is signed: three lines, each ending in a newline.

        Raises:
            FormatError: The origin, size or root cannot stand in a checkpoint.
        """
        text = f"{self.origin}\n{self.size}\n{to_base64(self.root)}\n".encode(errors="replace")
        if Checkpoint.parse(text) != self:
            raise FormatError("The origin of the checkpoint cannot stand in its text.")
        return text

    @classmethod
    def parse(cls, text: bytes) -> Checkpoint:
        """Read a checkpoint's text; extension lines are refused, for none is defined here.

        Raises:
            FormatError: Not such a text, to the letter.
        """
        lines = text.split(b"\n")
        if len(lines) != 4 or lines[3]:  # noqa: PLR2004 - three lines, each ending in a newline
            raise FormatError("A checkpoint's text is not three lines: origin, size, root.")
        try:
            origin = lines[0].decode()
        except UnicodeDecodeError:
            raise FormatError("A checkpoint's origin is not UTF-8.") from None
        if not origin or min(origin) < " ":
            raise FormatError("A checkpoint's origin is empty or holds a control character.")
        root = from_base64(lines[2])
        if len(root) != HASH_BYTES:
            raise FormatError("A checkpoint's root is not 32 bytes long.")
        return cls(origin, _decimal(lines[1], "size"), root)


def sign(checkpoint: Checkpoint, signer: SigningKey) -> Note:
    """Sign a checkpoint as a note.

    Raises:
        FormatError: The origin, size or root cannot stand in a checkpoint.
    """
    return notes.sign(checkpoint.text(), [signer])


def open(data: bytes, key: VerifyKey) -> Checkpoint:  # noqa: A001 - read as `checkpoint.open`
    """Verify a checkpoint's note with the log's pinned key, and read it.

    Whose origin it names is for the caller to compare with the origin pinned beside the key.

    Raises:
        SignatureError: The key did not sign it.
        FormatError: It is not a checkpoint.
    """
    note = Note.parse(data)
    notes.verify(note, [key])
    return Checkpoint.parse(note.text)


@dataclass(frozen=True)
class CosignerKey(PublicKey):
    """A witness's key, which signs checkpoints with the time it saw them (type 0x04)."""

    TYPE: ClassVar[bytes] = b"\x04"

    def time_of(self, text: bytes, blob: bytes) -> int | None:
        """Give the POSIX seconds at which this key cosigned a note's text; None if it did not."""
        time = int.from_bytes(blob[:_TIME_BYTES])
        if time <= MAX_SIZE and self._fits(_cosigned(text, time), blob[_TIME_BYTES:]):
            return time
        return None


def cosigner_key(key: VerifyKey) -> CosignerKey:
    """Give the public half a witness publishes for the key it cosigns with."""
    return CosignerKey(key.name, key.raw)


def cosign(note: Note, signer: SigningKey, posix_seconds: int) -> Note:
    """Add a witness's cosignature to a checkpoint's note.

    It says: at that time, this is the largest consistent tree the witness had seen of this origin.
    Whoever calls this must have verified the log's signature and the tree's growth, and must have
    put the new state on the disk (C2SP tlog-witness).

    Raises:
        FormatError: The note is not a checkpoint, or the time is out of range.
    """
    Checkpoint.parse(note.text)
    if not 0 <= posix_seconds <= MAX_SIZE:
        raise FormatError(f"The cosignature's time {posix_seconds} is out of range.")
    blob = posix_seconds.to_bytes(_TIME_BYTES) + signer.signature(
        _cosigned(note.text, posix_seconds)
    )
    line = SignatureLine(signer.name, cosigner_key(signer.verify_key).key_id, blob)
    return Note(note.text, (*note.signatures, line))


def open_cosignatures(note: Note, keys: Sequence[CosignerKey]) -> list[tuple[str, int]]:
    """Give who of the known witnesses cosigned a note, and when (POSIX seconds).

    Signatures of unknown keys are passed over, so the list may be empty.

    Raises:
        SignatureError: A known witness's cosignature does not fit.
    """
    known = {(key.name, key.key_id): key for key in keys}
    found = []
    for line in note.signatures:
        key = known.get((line.name, line.key_id))
        if key is None:
            continue
        time = key.time_of(note.text, line.blob)
        if time is None:
            raise SignatureError(f"The cosignature of {line.reference} does not fit the note.")
        found.append((line.name, time))
    return found


@dataclass(frozen=True)
class ProofText:
    """What a proof's text holds: a leaf's index, hashes from leaf to root, a checkpoint's note.

    Nothing in it is verified, and `extra` is covered by no signature at all.
    """

    index: int
    hashes: tuple[bytes, ...]
    checkpoint: bytes
    extra: bytes | None = None


def format_proof(
    index: int, hashes: Sequence[bytes], checkpoint_note: bytes, extra: bytes | None = None
) -> bytes:
    """Write the offline proof that an entry is in the tree (C2SP tlog-proof).

    Raises:
        FormatError: A part cannot stand in such a proof.
    """
    lines = [PROOF_TYPE]
    if extra is not None:
        lines.append(b"extra " + to_base64(extra).encode())
    lines.append(b"index %d" % index)
    lines.extend(to_base64(found).encode() for found in hashes)
    data = b"\n".join(lines) + b"\n\n" + checkpoint_note
    parse_proof(data)
    return data


def parse_proof(data: bytes) -> ProofText:
    """Read the text of an offline proof; verify it with `open` and `merkle.verify_inclusion`.

    Raises:
        FormatError: Not such a text, to the letter.
    """
    head, blank, checkpoint = data.partition(b"\n\n")
    kind, *lines = head.split(b"\n")
    if kind != PROOF_TYPE or not blank:
        raise FormatError("The text is not a proof: its first line is not the known one.")
    extra = None
    if lines and lines[0].startswith(b"extra "):
        extra = from_base64(lines.pop(0).removeprefix(b"extra "))
    if not lines or not lines[0].startswith(b"index "):
        raise FormatError("The proof does not say which leaf it is about.")
    index = _decimal(lines.pop(0).removeprefix(b"index "), "index")
    if len(lines) > MAX_PROOF:
        raise FormatError(f"The proof has {len(lines)} hashes; at most {MAX_PROOF} make sense.")
    hashes = tuple(map(from_base64, lines))
    if any(len(found) != HASH_BYTES for found in hashes):
        raise FormatError("A hash in the proof is not 32 bytes long.")
    Checkpoint.parse(Note.parse(checkpoint).text)
    return ProofText(index, hashes, checkpoint, extra)


def _cosigned(text: bytes, posix_seconds: int) -> bytes:
    return b"cosignature/v1\ntime %d\n%b" % (posix_seconds, text)


def _decimal(digits: bytes, what: str) -> int:
    # `int` alone would take "+5", "1_0" and digits of other scripts.
    if not _DECIMAL(digits) or int(digits) > MAX_SIZE:
        raise FormatError(f"The {what} {digits[:32]!r} is not a decimal number below 2^63.")
    return int(digits)
