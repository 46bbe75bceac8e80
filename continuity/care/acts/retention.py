"""What the examiner kept, and what the family wants done with it."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Literal, Self

from pydantic import Field

from continuity.care.acts.base import Act, OnMany, numbers_spent, settle_new, wrong_case
from continuity.care.case import Thing
from continuity.care.known import NewThing
from continuity.care.records import Instruction, Retention
from continuity.care.refusal import Objection
from continuity.care.things import (
    GONE,
    Digest,
    Intention,
    Slug,
    Text,
    ThingId,
    ThingKind,
    Unseen,
    WithHolder,
)
from continuity.care.times import Day

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Case
    from continuity.care.records import Event
    from continuity.care.scene import Scene


class Wish(StrEnum):
    """What may be wanted for a thing that is kept, or for an effect."""

    RETURN_BEFORE = "return-before-the-funeral"
    RETURN_LATER = "return-later"
    LAWFUL_DISPOSAL = "lawful-disposal"
    DONATION = "donation"
    RELEASE = "release"
    GOES_ALONG = "goes-along"
    WORN = "worn"


class Retained(Act):
    """The examiner keeps things back: what, why, until when, by whom."""

    kind: Literal["retained"] = "retained"
    holder: Slug
    items: tuple[NewThing, ...] = Field((), max_length=50, description="things kept, new here")
    things: tuple[ThingId, ...] = Field((), description="things kept that are already recorded")
    reason: Text | None = None
    until: Day | None = Field(None, description="the last day of the period set")
    authority: Text | None = None
    document: Digest | None = None
    family_told: bool | None = None

    def mentions(self) -> tuple[str, ...]:
        """What is kept."""
        return (*self.things, *(i.thing for i in self.items if i.thing))

    def holders(self) -> tuple[str, ...]:
        """Who keeps it."""
        return (self.holder,)

    def introduces(self) -> tuple[str, ...]:
        """The new things."""
        return tuple(i.thing for i in self.items if i.thing)

    def settle(self, scene: Scene) -> Self:
        """Number the new things."""
        return self.model_copy(update={"items": settle_new(self.items, scene)})

    def apply(self, case: Case, event: Event) -> None:
        """They are with the examiner; what was said of them before stands unless said anew."""
        for item in self.items:
            case.add(
                Thing(
                    id=item.thing or "",
                    what=item.what,
                    description=item.description,
                    came=event.moment,
                    where=WithHolder(self.holder, accepted=True),
                    form=item.form,
                    organ=item.organ,
                    receipt="retained",
                    moved=event.moment,
                )
            )
        for thing_id in self.mentions():
            thing = case.know(thing_id, event.moment, ThingKind.SPECIMEN)
            if case.holder(thing_id) != self.holder:
                thing.move(WithHolder(self.holder, accepted=True), event.moment)
            before = thing.retention
            known = before if before and before.holder == self.holder else None
            thing.retention = Retention(
                event.moment,
                self.holder,
                self.reason or (known.reason if known else None),
                self.until or (known.until if known else None),
                self.authority or (known.authority if known else None),
                known.family_told if known and self.family_told is None else self.family_told,
            )

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """Something must be kept, be this case's, and be with whoever keeps it."""
        if not self.items and not self.things:
            yield Objection(
                "nothing-named",
                "no thing is named as kept",
                "name what is kept; for none or unknown, record retention-stated",
                findable=False,
            )
        yield from numbers_spent(scene, self.introduces())
        for thing_id in self.things:
            yield from wrong_case(scene, thing_id)
            thing, resting = scene.find(thing_id), scene.resting(thing_id)
            if thing is None or isinstance(resting, Unseen):
                continue
            if isinstance(resting, GONE):
                yield Objection(
                    "already-gone",
                    f"{thing_id} ({thing.description}) has already left under its own number",
                    "check the label; if it is kept all the same, record it with --found",
                )
            elif not (isinstance(resting, WithHolder) and resting.holder == self.holder):
                yield Objection(
                    "not-with-the-holder",
                    f"{thing_id} ({thing.description}) is not recorded with {self.holder}",
                    f"record that it was handed over to {self.holder} first (handed-over); if it"
                    " is there all the same, use --found",
                )


class FamilyInstructed(OnMany):
    """Whoever may say so has said what is to become of things."""

    kind: Literal["instructed"] = "instructed"
    things: tuple[ThingId, ...] = Field(min_length=1, max_length=50)
    wish: Wish
    relation: Text = Field(description="who says so, by relation to the decedent or by office")
    document: Digest | None = None

    def apply(self, case: Case, event: Event) -> None:
        """Note the instruction; for an effect it is the intention."""
        for thing_id in self.things:
            thing = case.know(thing_id, event.moment)
            thing.instruction = Instruction(event.moment, self.wish.value, self.relation)
            if thing.what is ThingKind.EFFECT and self.wish.value in set(Intention):
                thing.intention = Intention(self.wish.value)

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """About things of this case."""
        for thing_id in self.things:
            yield from wrong_case(scene, thing_id)
