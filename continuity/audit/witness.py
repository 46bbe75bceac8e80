"""Being another party's witness, with files alone: no server, no account.

A witness keeps the last checkpoint it cosigned of each register, and cosigns another only if that
one continues it (C2SP tlog-witness v1.0.0). The register's keeper asks with a file in that
standard's form - `old <size>`, a consistency proof, a blank line, the checkpoint - and gets the
checkpoint back with the witness's line under it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from typing import TYPE_CHECKING

from continuity.audit.guard import Guard
from continuity.errors import FormatError, InputError
from continuity.ledger import checkpoint as checkpoints
from continuity.ledger import merkle
from continuity.ledger.checkpoint import Checkpoint
from continuity.ledger.merkle import EMPTY_ROOT, HASH_BYTES, MAX_PROOF
from continuity.ledger.note import Note, from_base64, to_base64

if TYPE_CHECKING:
    from pathlib import Path

    from continuity.ledger.keys import SigningKey, VerifyKey
    from continuity.store.protocol import Reads

MAX_REQUEST_BYTES = 65_535

_OLD = re.compile(rb"old (0|[1-9][0-9]{0,18})").fullmatch


@dataclass(frozen=True)
class Request:
    """What a witness is asked to cosign: from which size on, with which proof, which checkpoint."""

    old: int
    proof: tuple[bytes, ...]
    checkpoint: bytes

    def encode(self) -> bytes:
        """Give the request's bytes (C2SP tlog-witness, add-checkpoint)."""
        lines = [f"old {self.old}", *map(to_base64, self.proof)]
        return "\n".join(lines).encode() + b"\n\n" + self.checkpoint

    @classmethod
    def parse(cls, data: bytes) -> Request:
        """Read a request without verifying anything.

        Raises:
            FormatError: Not such a request, to the letter.
        """
        if len(data) > MAX_REQUEST_BYTES:
            raise FormatError(f"The request is longer than {MAX_REQUEST_BYTES} bytes.")
        head, blank, checkpoint = data.partition(b"\n\n")
        first, *lines = head.split(b"\n")
        old = _OLD(first)
        if not blank or old is None:
            raise FormatError("The request does not say which size the witness saw last.")
        if len(lines) > MAX_PROOF:
            raise FormatError(f"The request's proof has more than {MAX_PROOF} hashes.")
        proof = tuple(map(from_base64, lines))
        if any(len(found) != HASH_BYTES for found in proof):
            raise FormatError("A hash in the request's proof is not 32 bytes long.")
        Checkpoint.parse(Note.parse(checkpoint).text)
        return cls(int(old[1]), proof, checkpoint)


def ask(reads: Reads, old: int) -> Request:
    """Ask for a cosignature of the register's latest checkpoint.

    Args:
        reads: The register.
        old: The size the witness cosigned last; 0 if it never did.

    Raises:
        InputError: There is no checkpoint, or none as large as the witness saw.
    """
    row = reads.latest_checkpoint()
    if row is None or not 0 <= old <= row.size:
        raise InputError(f"There is no checkpoint of size {old} or more to be cosigned.")
    return Request(old, merkle.consistency_proof(old, row.size, reads.read_hashes), row.note)


class Witness:
    """One witness: its key, and the folder where it keeps what it cosigned last.

    Args:
        key: Its own key, used for nothing else.
        folder: Where a file for each register lies.
    """

    def __init__(self, key: SigningKey, folder: Path) -> None:
        self._key = key
        self._folder = folder

    def last_seen(self, origin: str) -> int:
        """The size of the checkpoint of a register that was cosigned last; 0 if none was."""
        note = self._kept(origin).read()
        return 0 if note is None else Checkpoint.parse(Note.parse(note).text).size

    def cosign(
        self, request: Request, register_key: VerifyKey, now: datetime | None = None
    ) -> bytes:
        """Cosign a checkpoint that continues the one cosigned before it.

        Args:
            request: What the register's keeper asks.
            register_key: The register's key, as it was given to the witness.
            now: The time that is signed; None asks the clock.

        Returns:
            The checkpoint's note with the witness's line under it.

        Raises:
            SignatureError: The register's key did not sign the checkpoint.
            ProofError: It does not continue what was cosigned before: keep both, they prove it.
            InputError: The request begins at another size than the one cosigned last, or is of
                another register.
        """
        found = checkpoints.open(request.checkpoint, register_key)
        if found.origin != register_key.name:
            raise InputError(f"The checkpoint is of {found.origin}, not of {register_key.name}.")
        kept = self._kept(found.origin)
        before = kept.read()
        seen = Checkpoint(found.origin, 0, EMPTY_ROOT)
        if before is not None:
            seen = Checkpoint.parse(Note.parse(before).text)
        if request.old != seen.size:
            raise InputError(
                f"The request begins at size {request.old}, and {seen.size} was cosigned last;"
                " ask from there."
            )
        merkle.verify_consistency(seen.size, found.size, request.proof, seen.root, found.root)
        # On the disk before anything is signed: else two requests could roll the witness back.
        kept.advance(before, request.checkpoint)
        seconds = int((now or datetime.now(UTC)).timestamp())
        return checkpoints.cosign(Note.parse(request.checkpoint), self._key, seconds).encode()

    def _kept(self, origin: str) -> Guard:
        # The name C2SP tlog-witness gives the file: an origin may hold what no file name can.
        return Guard(self._folder / sha256(origin.encode()).hexdigest())
