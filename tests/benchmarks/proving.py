"""Root and proofs from a register just opened, at two sizes."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

from continuity.ledger import merkle
from continuity.store.sqlite import SqliteStore
from tests.benchmarks.days import size_of
from tests.benchmarks.measure import Figure, seconds, side_by_side

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from continuity.store.protocol import Store

ROUNDS = 60

PROOFS: dict[str, Callable[[Store, int], object]] = {
    "root": lambda store, size: merkle.root(size, store.read_hashes),
    "inclusion proof": lambda store, size: merkle.inclusion_proof(
        size // 3, size, store.read_hashes
    ),
    "consistency proof": lambda store, size: merkle.consistency_proof(
        size // 2 - 1, size, store.read_hashes
    ),
}
WHY = (
    "a proof has one more hash for each doubling of the register, and each is one look into a"
    " table's tree."
)


def figures(small: Path, large: Path, pymerkle: str | None, folder: Path) -> Iterator[Figure]:
    """Each proof is made by a store opened for it; opening is the same for both and included."""

    def cold(path: Path, proof: Callable[[Store, int], object]) -> Callable[[], None]:
        def make() -> None:
            with SqliteStore.open(path) as store:
                proof(store, store.head().size)

        return make

    few, many = (f"{size_of(path):,} entries" for path in (small, large))
    for name, proof in PROOFS.items():
        little, much = side_by_side(ROUNDS, cold(small, proof), cold(large, proof))
        yield Figure(
            f"{name} from a cold start, {many}",
            seconds(much.cpu),
            f"{few} {seconds(little.cpu)}",
            much.cpu / little.cpu,
            2.0,
            WHY,
        )
    if pymerkle:
        yield from _beside(pymerkle, {few: small, many: large}, folder)


def _beside(python: str, registers: dict[str, Path], folder: Path) -> Iterator[Figure]:
    script = str(Path(__file__).with_name("beside_pymerkle.py"))
    small, large = (
        json.loads(
            subprocess.run(
                [python, script, str(path), str(folder / f"pymerkle-{path.stem}.db")],
                capture_output=True,
                check=True,
            ).stdout
        )
        for path in registers.values()
    )
    few, many = registers
    for name in small:
        yield Figure(
            f"pymerkle's {name} from a cold start, {many} (for comparison)",
            seconds(large[name]),
            f"{few} {seconds(small[name])}",
            large[name] / small[name],
        )
