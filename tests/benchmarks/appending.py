"""A durable append of a signed entry, against SQLite and Ed25519 alone."""

from __future__ import annotations

import shutil
import sqlite3
from typing import TYPE_CHECKING

from continuity.care.intent import read_intent
from continuity.register import Register
from tests.benchmarks.days import MORTICIAN, cases_of, last_case
from tests.benchmarks.measure import Figure, seconds, side_by_side

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

ROUNDS = 400

WHY = (
    "the rest is what a record is for: reading the case's head, the last checkpoint and the house"
    " under the lock, judging the act by the rules of care, writing it as canonical JSON and"
    " reading it back strictly before it is written, and five more rows (leaf index, complete"
    " tree nodes, case head, head) in the same commit. That is so much processor time whatever the"
    " disk: where a durable commit takes 4 ms the ratio is nearly 1, and where the disk answers"
    " within a fraction of a millisecond, as a virtual one does, it shows. The plain elapsed line is"
    " the busy disk's as much as ours, and is judged by nobody."
)
NOTE = (
    "The elapsed lines are the disk's as much as ours. Where a durable commit takes some 4 ms, as on a"
    " busy disk, they are near 1 and say little; on the same machine with its disk quiet (0.4 to 0.7"
    " ms for the bare commit) they were 2.0 to 2.7. The processor line is what stays."
)


def figures(path: Path, folder: Path) -> Iterator[Figure]:
    """Measure on a copy of a register, and in a table of its own beside it."""
    copy = folder / "appending.db"
    for suffix in ("", ".personal"):
        shutil.copyfile(f"{path}{suffix}", f"{copy}{suffix}")
    register = Register.open(copy)
    body = f"{last_case(cases_of(path))}.1"
    moves = [
        read_intent({"kind": "moved", "things": [body], "place": place, "scanned": True})
        for place in ("table-1", "cold-room")
    ]
    bare = sqlite3.connect(folder / "bare.db", isolation_level=None)
    bare.execute("PRAGMA journal_mode = WAL")
    bare.execute("PRAGMA synchronous = FULL")
    bare.execute("CREATE TABLE entry (position INTEGER PRIMARY KEY, note BLOB NOT NULL) STRICT")
    with register.store:
        register.record(moves[0], [MORTICIAN])
        stored = register.store.entry_at(register.store.head().size - 1)
        assert stored is not None
        note = stored.note
        text = note[: note.rindex(b"\n\n") + 1]
        turn = 0

        def ours() -> None:
            nonlocal turn
            turn += 1
            register.record(moves[turn % 2], [MORTICIAN])

        def theirs() -> None:
            MORTICIAN.key.sign(text)
            bare.execute("BEGIN IMMEDIATE")
            bare.execute("INSERT INTO entry (note) VALUES (?)", (note,))
            bare.execute("COMMIT")

        ours_cost, bare_cost = side_by_side(ROUNDS, ours, theirs)
    bare.close()
    named = {"undisturbed": "elapsed undisturbed", "wall": "elapsed", "cpu": "processor"}
    for unit, word in named.items():
        mine, other = getattr(ours_cost, unit), getattr(bare_cost, unit)
        yield Figure(
            f"durable append of a signed entry, {word}",
            seconds(mine),
            f"bare insert, commit, signature {seconds(other)}",
            mine / other,
            1.4 if unit == "undisturbed" else None,
            WHY,
            note=NOTE,
        )
