"""continuity-count/1: what `count` answers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

if TYPE_CHECKING:
    from collections.abc import Sequence

    from continuity.care.counting import Count
    from continuity.recording import Receipt

SHAPE = "continuity-count/1"


class CountedIn(TypedDict):
    """An entry that tells one case of its own things."""

    case: str
    entry: int


class Answer(TypedDict):
    """A place counted, and the entry in each case concerned that says so."""

    shape: str
    place: str
    entries: list[CountedIn]
    agrees: bool
    seen: list[str]
    missing: list[str]
    unexpected: list[str]
    uncounted: list[str]


def answer(count: Count, receipts: Sequence[Receipt]) -> Answer:
    """The count as JSON."""
    return Answer(
        shape=SHAPE,
        place=count.place,
        entries=[CountedIn(case=r.case or "", entry=r.number) for r in receipts],
        agrees=count.agrees,
        seen=list(count.seen),
        missing=list(count.missing),
        unexpected=list(count.unexpected),
        uncounted=list(count.uncounted),
    )
