"""Verifying a register, against its hashes and signatures alone."""

from __future__ import annotations

import resource
import sys
from hashlib import sha256
from typing import TYPE_CHECKING

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from continuity.audit.trust import Trust
from continuity.audit.verify import verify
from continuity.ledger.note import Note
from continuity.store.sqlite import SqliteStore
from tests.benchmarks.days import DIRECTOR, MORTICIAN, REGISTER_KEY
from tests.benchmarks.measure import Figure, seconds, side_by_side

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

PINNED = Trust(register_key=REGISTER_KEY.verify_key)
RAW = {
    signer.key.verify_key.reference: signer.key.verify_key.raw for signer in (DIRECTOR, MORTICIAN)
} | {REGISTER_KEY.verify_key.reference: REGISTER_KEY.verify_key.raw}

Bare = tuple[bytes, bytes, tuple[tuple[Ed25519PublicKey, bytes], ...]]


def whole(path: Path, processes: int) -> None:
    """Verify it, and find nothing wrong."""
    with SqliteStore.open(path) as store:
        assert not verify(store, PINNED, processes=processes).findings


def _bare(path: Path) -> list[Bare]:
    keys = {reference: Ed25519PublicKey.from_public_bytes(raw) for reference, raw in RAW.items()}
    with SqliteStore.open(path) as store:
        found = []
        for stored in store.scan():
            note = Note.parse(stored.note)
            signed = tuple((keys[line.reference], line.blob) for line in note.signatures)
            found.append((stored.note, note.text, signed))
        return found


def _check(rows: Sequence[Bare]) -> None:
    for note, text, signatures in rows:
        sha256(b"\0" + note).digest()
        for key, blob in signatures:
            key.verify(blob, text)


WHY_ONE = (
    "beside hash and signature it reads every entry strictly (canonical JSON, fields, times),"
    " makes its act, follows chains, clock, mirrors, labels and personal digests, rebuilds the"
    " tree and the case index of every checkpoint, and folds every case."
)
WHY_TWO = (
    "the entries are checked in two processes, but one of them is followed in order by the"
    " process that asked, which takes a share of the same two cores; other work on the machine"
    " counts too."
)
WHY_MEMORY = "memory grows with the number of cases (their heads), not with that of entries."


def figures(small: Path, large: Path) -> Iterator[Figure]:
    rows = _bare(small)
    bare, ours = side_by_side(3, lambda: _check(rows), lambda: whole(small, 1))
    yield Figure(
        f"verify {len(rows):,} entries on one core, processor",
        seconds(ours.cpu),
        f"bare hashes and signatures {seconds(bare.cpu)}",
        ours.cpu / bare.cpu,
        1.2,
        WHY_ONE,
    )
    one, two = side_by_side(1, lambda: whole(large, 1), lambda: whole(large, 2))
    yield Figure(
        "verify the large register on two cores, elapsed",
        seconds(two.wall),
        f"on one {seconds(one.wall)}",
        one.wall / two.wall,
        1.7,
        WHY_TWO,
        at_least=True,
    )


if __name__ == "__main__":
    from pathlib import Path

    whole(Path(sys.argv[1]), 1)
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
