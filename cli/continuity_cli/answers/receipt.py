"""continuity-receipt/1: what `record` answers for each entry."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from continuity.care.times import write_time

if TYPE_CHECKING:
    from continuity.recording import Receipt

SHAPE = "continuity-receipt/1"


class Answer(TypedDict):
    """What was recorded, and where it stands."""

    shape: str
    case: str | None
    entry: int
    position: int
    leaf: str
    kind: str
    new: list[str]
    despite: list[str]
    also_in: list[str]
    recorded_at: str


def answer(receipt: Receipt) -> Answer:
    """The receipt as JSON."""
    return Answer(
        shape=SHAPE,
        case=receipt.case,
        entry=receipt.number,
        position=receipt.position,
        leaf=receipt.leaf,
        kind=receipt.act.kind,
        new=list(receipt.act.introduces()),
        despite=list(receipt.act.despite),
        also_in=list(receipt.mirrored),
        recorded_at=write_time(receipt.recorded_at),
    )
