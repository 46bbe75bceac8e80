"""continuity-count/1: what `count` answers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

if TYPE_CHECKING:
    from continuity.care.counting import Count
    from continuity.recording import Receipt

SHAPE = "continuity-count/1"


class Answer(TypedDict):
    """A place counted, and the entry in the register's own chain that says so."""

    shape: str
    place: str
    entry: int
    agrees: bool
    seen: list[str]
    missing: list[str]
    unexpected: list[str]
    uncounted: list[str]


def answer(count: Count, receipt: Receipt) -> Answer:
    """The count as JSON."""
    return Answer(
        shape=SHAPE,
        place=count.place,
        entry=receipt.number,
        agrees=count.agrees,
        seen=list(count.seen),
        missing=list(count.missing),
        unexpected=list(count.unexpected),
        uncounted=list(count.uncounted),
    )
