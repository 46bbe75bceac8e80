"""Verifying a register, against its hashes and signatures alone."""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from continuity.audit.trust import Trust
from continuity.audit.verify import verify
from continuity.ledger.note import Note
from continuity.store.sqlite import SqliteStore
from tests.benchmarks.days import DIRECTOR, MORTICIAN, REGISTER_KEY, size_of
from tests.benchmarks.measure import Figure, seconds, side_by_side

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

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
    "each entry is read once, and its case folded from what was read. What is left beside hash and"
    " signature was found by leaving one part out after the other on an idle machine, 84 µs in all:"
    " reading it strictly (canonical JSON and back, fields, times) 31, adding its case up 21, following"
    " chains, clock, mirrors, labels, personal digests and the tree 12, reading its row 10, making its"
    " act with pydantic 10. Reading row and bytes alone, with nothing understood, would be 1.36."
)
WHY_TWO = (
    "other processes verify signatures, and all else stays with one, so that nothing read is carried"
    " between them; that one has some 84 µs of an entry's 200. Each worker starts an interpreter of"
    " its own, which a short register feels; and elapsed time counts what else the machine does."
)
WHY_MEMORY = (
    "what grows goes by the case, not by the entry: of each its head, its leaf in the case index and"
    " its number are kept to the end, some 0.6 KiB."
)


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
    one, two = _apart(large, 1), _apart(large, 2)
    yield Figure(
        f"verify {size_of(large):,} entries on two cores, elapsed",
        seconds(two.elapsed),
        f"on one {seconds(one.elapsed)}",
        one.elapsed / two.elapsed,
        1.7,
        WHY_TWO,
        at_least=True,
    )
    best = max(two.own, (two.own + two.workers) / 2)
    yield Figure(
        "the same, were the machine idle, by processor times",
        seconds(best),
        f"on one {seconds(one.own)}",
        one.own / best,
        1.7,
        WHY_TWO,
        at_least=True,
    )


def growth(small: Path, large: Path) -> Iterator[Figure]:
    """What a verify of ten times as many entries takes."""
    little, much = _apart(small, 1), _apart(large, 1)
    few, many = size_of(small), size_of(large)
    yield Figure(
        f"greatest memory of a verify, {many:,} entries",
        f"{much.kibibytes // 1024} MiB",
        f"{few:,} entries {little.kibibytes // 1024} MiB",
        much.kibibytes / little.kibibytes,
        1.2,
        WHY_MEMORY,
    )
    yield Figure(
        f"verify on one core, each of {many:,} entries, processor",
        seconds(much.own / many),
        f"each of {few:,} {seconds(little.own / few)}",
        (much.own / many) / (little.own / few),
        1.2,
    )


class Apart(NamedTuple):
    """What a verify in a process of its own took: memory, and seconds."""

    kibibytes: int
    own: float
    workers: float
    elapsed: float


def _apart(path: Path, processes: int) -> Apart:
    command = [sys.executable, "-m", "tests.benchmarks.verifying", str(path), str(processes)]
    return Apart(*json.loads(subprocess.run(command, capture_output=True, check=True).stdout))


def main(path: str, processes: str) -> None:
    began = time.perf_counter()
    whole(Path(path), int(processes))
    elapsed = time.perf_counter() - began
    own, workers = map(resource.getrusage, (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    spent = [usage.ru_utime + usage.ru_stime for usage in (own, workers)]
    print(json.dumps([own.ru_maxrss, *spent, elapsed]))


if __name__ == "__main__":
    main(*sys.argv[1:])
