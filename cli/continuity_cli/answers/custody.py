"""continuity-custody/1: what `custody` answers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from continuity_cli.answers.things import when

if TYPE_CHECKING:
    from continuity.care.case import Case
    from continuity.care.custody import Custody
    from continuity_cli.asked import Asked

SHAPE = "continuity-custody/1"


class HoldingAnswer(TypedDict):
    """One holder's time with one thing; `until` is None while it lasts, `entry` began it."""

    thing: str
    holder: str
    since: str
    until: str | None
    entry: int


class BrokenAnswer(TypedDict):
    """Where two ends of a thing's custody do not meet: a `gap` or an `overlap`."""

    thing: str
    what: str
    before: str
    after: str
    at: str
    entry: int


class TransferAnswer(TypedDict):
    """A hand-over; `accepted` is None while only one side has signed."""

    entry: int
    at: str
    giver: str
    taker: str
    things: list[str]
    authority: str | None
    document: str | None
    accepted: str | None


class Answer(TypedDict):
    """Who held what, when, and where that chain is broken."""

    shape: str
    case: str
    known_until: str | None
    happened_until: str | None
    holdings: list[HoldingAnswer]
    broken: list[BrokenAnswer]
    transfers: list[TransferAnswer]


def answer(case: Case, custody: Custody, asked: Asked) -> Answer:
    """Custody as JSON."""
    return Answer(
        shape=SHAPE,
        case=case.number,
        known_until=when(asked.known),
        happened_until=when(asked.happened),
        holdings=[
            HoldingAnswer(
                thing=held.thing,
                holder=held.holder,
                since=when(held.since.at) or "",
                until=when(held.until.at if held.until else None),
                entry=held.entry,
            )
            for held in custody.holdings
        ],
        broken=[
            BrokenAnswer(
                thing=broken.thing,
                what=broken.what.value,
                before=broken.before,
                after=broken.after,
                at=when(broken.moment.at) or "",
                entry=broken.moment.number,
            )
            for broken in custody.broken
        ],
        transfers=[
            TransferAnswer(
                entry=transfer.entry,
                at=when(transfer.moment.at) or "",
                giver=transfer.giver,
                taker=transfer.taker,
                things=list(transfer.things),
                authority=transfer.authority,
                document=transfer.document,
                accepted=when(transfer.accepted.at if transfer.accepted else None),
            )
            for transfer in case.transfers
        ],
    )
