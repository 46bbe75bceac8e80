"""Things move: between places, into and out of containers, from holder to holder."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Literal, Self

from pydantic import Field, model_validator

from continuity.care.acts.base import OnMany, going_into, wrong_case
from continuity.care.records import Transfer
from continuity.care.refusal import Objection
from continuity.care.things import (
    HERE,
    AtPlace,
    Digest,
    Inside,
    Slug,
    Text,
    ThingId,
    Unseen,
    WithHolder,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.acts.leaving import Recalled
    from continuity.care.case import Case
    from continuity.care.records import Event
    from continuity.care.scene import Scene


class Moved(OnMany):
    """Things were taken to another place of the firm."""

    kind: Literal["moved"] = "moved"
    place: Slug
    scanned: bool = Field(default=False, description="the labels were scanned there")

    def places(self) -> tuple[str, ...]:
        """Where they were taken."""
        return (self.place,)

    def apply(self, case: Case, event: Event) -> None:
        """Set them down there; what is in them comes along."""
        for thing_id in self.things:
            thing = case.know(thing_id, event.moment)
            thing.move(AtPlace(self.place), event.moment)
            if self.scanned:
                case.see(thing_id, event.moment, scanned=True)


class PutIn(OnMany):
    """Things were put into a container, a coffin or the cavity."""

    kind: Literal["put-in"] = "put-in"
    into: ThingId
    scanned: bool = Field(default=False, description="both labels were scanned as it was done")

    @model_validator(mode="after")
    def _not_itself(self) -> Self:
        if self.into in self.things:
            raise ValueError(f"{self.into} cannot be put into itself")
        return self

    def mentions(self) -> tuple[str, ...]:
        """The things, and what they went into."""
        return (*self.things, self.into)

    def apply(self, case: Case, event: Event) -> None:
        """Put them in."""
        case.know(self.into, event.moment)
        for thing_id in self.things:
            thing = case.know(thing_id, event.moment)
            thing.move(Inside(self.into), event.moment)
            if self.scanned:
                case.see(thing_id, event.moment, scanned=True)

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """What they go into must be this case's, here, open, and able to hold things."""
        yield from super().objections(scene)
        yield from going_into(scene, self.things, self.into)


class TakenOut(OnMany):
    """Things were taken out of what they were in, and set down."""

    kind: Literal["taken-out"] = "taken-out"
    out_of: ThingId | None = Field(None, description="filled in by the register when left")
    place: Slug | None = None
    into: ThingId | None = Field(None, description="a container they went straight into")
    scanned: bool = False

    @model_validator(mode="after")
    def _one_target(self) -> Self:
        if (self.place is None) == (self.into is None):
            raise ValueError("say where it was set down: either place or into")
        return self

    def mentions(self) -> tuple[str, ...]:
        """The things, what they left, and what they went into."""
        return (*self.things, *(t for t in (self.out_of, self.into) if t))

    def places(self) -> tuple[str, ...]:
        """Where they were set down."""
        return (self.place,) if self.place else ()

    def settle(self, scene: Scene) -> Self:
        """Fill in what they were in."""
        first = scene.find(self.things[0])
        if self.out_of or first is None or not isinstance(first.where, Inside):
            return self
        return self.model_copy(update={"out_of": first.where.thing})

    def apply(self, case: Case, event: Event) -> None:
        """Set them down; the container has been looked into."""
        if self.out_of:
            case.know(self.out_of, event.moment)
        if self.into:
            case.know(self.into, event.moment)
        where = Inside(self.into) if self.into else AtPlace(self.place or "")
        for thing_id in self.things:
            thing = case.know(thing_id, event.moment)
            thing.move(where, event.moment)
            if self.scanned:
                case.see(thing_id, event.moment, scanned=True)

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """They must be in it."""
        yield from super().objections(scene)
        for thing_id in self.things:
            thing = scene.find(thing_id)
            if thing and not (self.out_of and thing.where == Inside(self.out_of)):
                yield Objection(
                    "not-inside",
                    f"{thing_id} is not recorded inside {self.out_of or 'anything'}",
                    "check the label; if it came out of there all the same, record it with --found",
                )
        if self.into:
            yield from going_into(scene, self.things, self.into)


class HandedOver(OnMany):
    """Custody of things went to a holder outside the firm."""

    kind: Literal["handed-over"] = "handed-over"
    taker: Slug
    authority: Text
    document: Digest | None = Field(None, description="SHA-256 of the paper that goes along")
    accepted: bool = Field(default=False, description="the taker signed for them")

    def holders(self) -> tuple[str, ...]:
        """Who took them."""
        return (self.taker,)

    def apply(self, case: Case, event: Event) -> None:
        """They are with the taker, who has signed or has yet to."""
        give(case, event, self)


class HandOverAccepted(OnMany):
    """A taker signed, afterwards, for things handed over."""

    kind: Literal["hand-over-accepted"] = "hand-over-accepted"
    taker: Slug
    document: Digest | None = None

    def holders(self) -> tuple[str, ...]:
        """Who signed."""
        return (self.taker,)

    def apply(self, case: Case, event: Event) -> None:
        """Both sides of the hand-over now stand."""
        for thing_id in self.things:
            thing = case.know(thing_id, event.moment)
            if thing.where == WithHolder(self.taker, accepted=False):
                thing.where = WithHolder(self.taker, accepted=True)
        for transfer in case.transfers:
            if transfer.taker == self.taker and set(transfer.things) <= set(self.things):
                transfer.accepted = transfer.accepted or event.moment

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """It must have been handed over to that taker."""
        for thing_id in self.things:
            yield from wrong_case(scene, thing_id)
            thing = scene.find(thing_id)
            if thing and not (
                isinstance(thing.where, WithHolder) and thing.where.holder == self.taker
            ):
                yield Objection(
                    "not-handed-over",
                    f"{thing_id} is not recorded with {self.taker}",
                    "record the hand-over first",
                    findable=False,
                )


class Returned(OnMany):
    """Things came back into the firm's custody."""

    kind: Literal["returned"] = "returned"
    changes_presence: ClassVar[bool] = True
    giver: Slug
    place: Slug
    document: Digest | None = None
    giver_signed: bool | None = Field(
        None, description="the giver signed; left out, nobody says so"
    )
    scanned: bool = False

    def places(self) -> tuple[str, ...]:
        """Where they were set down."""
        return (self.place,)

    def holders(self) -> tuple[str, ...]:
        """Who brought them."""
        return (self.giver,)

    def apply(self, case: Case, event: Event) -> None:
        """Set them down here."""
        for thing_id in self.things:
            thing = case.know(thing_id, event.moment)
            thing.move(AtPlace(self.place), event.moment)
            if self.scanned:
                case.see(thing_id, event.moment, scanned=True)
        case.transfers.append(
            Transfer(
                event.moment,
                self.things,
                self.giver,
                HERE,
                None,
                self.document,
                event.moment if self.giver_signed else None,
                event.number,
                unstated=self.giver_signed is None,
            )
        )
        case.recalled = None if self._has_body(case) else case.recalled

    def _has_body(self, case: Case) -> bool:
        body = case.decedent
        return body is not None and body.id in self.things

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """It must have been away, with that giver."""
        for thing_id in self.things:
            yield from wrong_case(scene, thing_id)
            thing = scene.find(thing_id)
            if thing is None or isinstance(thing.where, Unseen):
                continue
            holder = scene.owner(thing_id).holder(thing_id)
            if holder == HERE:
                yield Objection(
                    "was-here",
                    f"{thing_id} is not recorded as having left",
                    "record the hand-over that was missed, or check the label",
                )
            elif holder != self.giver:
                yield Objection(
                    "other-holder",
                    f"{thing_id} is recorded with {holder}, not with {self.giver}",
                    "name the giver it is recorded with; if it came from elsewhere, use --found",
                )


class Sighted(OnMany):
    """Things were seen: by a scan of the label, or by eye."""

    kind: Literal["sighted"] = "sighted"
    scanned: bool = Field(default=True, description="the label was scanned, not only seen")
    for_closing: bool = Field(default=False, description="seen for the closing check")
    place: Slug | None = Field(None, description="where it was seen, when counted there")

    def places(self) -> tuple[str, ...]:
        """Where they were seen."""
        return (self.place,) if self.place else ()

    def apply(self, case: Case, event: Event) -> None:
        """Note each sighting; a thing seen at a place it was not recorded at is there."""
        for thing_id in self.things:
            thing = case.know(thing_id, event.moment)
            if self.place and case.resting(thing_id) != AtPlace(self.place) and not thing.gone:
                thing.move(AtPlace(self.place), event.moment)
            case.see(thing_id, event.moment, scanned=self.scanned, for_closing=self.for_closing)

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """What was seen here must be recorded here, and open to view."""
        yield from super().objections(scene)
        if self.place:
            for thing_id in self.things:
                case = scene.owner(thing_id)
                if thing_id in case.things and case.resting(thing_id) != AtPlace(self.place):
                    yield Objection(
                        "seen-elsewhere",
                        f"{thing_id} is seen at {self.place} and recorded elsewhere",
                        "record it with --found, and find out how it came there",
                    )


def give(case: Case, event: Event, handing: HandedOver | Recalled) -> None:
    """Custody of things goes to a taker outside, who has signed or has yet to."""
    for thing_id in handing.things:
        case.know(thing_id, event.moment).move(
            WithHolder(handing.taker, handing.accepted), event.moment
        )
    case.transfers.append(
        Transfer(
            event.moment,
            handing.things,
            HERE,
            handing.taker,
            handing.authority,
            handing.document,
            event.moment if handing.accepted else None,
            event.number,
        )
    )
