"""continuity-backup/1: what `backup` answers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from continuity.ledger import merkle

if TYPE_CHECKING:
    from pathlib import Path

    from continuity.store.protocol import Head

SHAPE = "continuity-backup/1"


class Answer(TypedDict):
    """A copy of a register: its two files, how many entries it holds, and their tree's root."""

    shape: str
    register: str
    personal: str
    size: int
    root: str


def answer(register: Path, personal: Path, head: Head) -> Answer:
    """The copy as JSON."""
    return Answer(
        shape=SHAPE,
        register=str(register),
        personal=str(personal),
        size=head.size,
        root=merkle.root_of_frontier(head.frontier).hex(),
    )
