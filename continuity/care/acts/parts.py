"""Things come apart and together again; every piece keeps its own number and its descent."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Literal, Self

from pydantic import Field, model_validator

from continuity.care.acts.base import (
    Act,
    OnMany,
    going_into,
    handling,
    numbers_spent,
    reachable,
    settle_new,
    settle_refs,
    wrong_case,
)
from continuity.care.case import Thing
from continuity.care.known import NewThing
from continuity.care.masses import bounds
from continuity.care.refusal import Objection
from continuity.care.things import (
    TISSUE,
    AtPlace,
    CaseNumber,
    Digest,
    Divided,
    Inside,
    ItemRef,
    PartOf,
    Slug,
    Text,
    ThingId,
    ThingKind,
    case_of,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Case
    from continuity.care.records import Event
    from continuity.care.scene import Scene


class Piece(NewThing):
    """A new thing that came from an older one, and where it was put."""

    within: ItemRef | None = Field(None, description="what it was put into")
    place: Slug | None = Field(None, description="where it was set down")

    @model_validator(mode="after")
    def _one_target(self) -> Self:
        if (self.place is None) == (self.within is None):
            raise ValueError("say where each piece is: either place or within")
        return self

    def born(self, event: Event, parents: tuple[str, ...]) -> Thing:
        """The thing as it enters the record."""
        return Thing(
            id=self.thing or "",
            what=self.what,
            description=self.description,
            came=event.moment,
            where=Inside(self.within) if self.within else AtPlace(self.place or ""),
            form=self.form,
            power=self.power,
            intention=self.intention,
            organ=self.organ,
            parents=parents,
            moved=event.moment,
        )


class Separated(Act):
    """New things came from one: it goes on beside them, or was divided into them entirely."""

    kind: Literal["separated"] = "separated"
    thing: ThingId
    into: tuple[Piece, ...] = Field(min_length=1, max_length=50)
    entirely: bool = Field(default=False, description="nothing of it is left under its own number")

    def mentions(self) -> tuple[str, ...]:
        """The thing, its pieces, and what they were put into."""
        new = tuple(p.thing for p in self.into if p.thing)
        held = tuple(p.within for p in self.into if p.within and not p.within.startswith("#"))
        return (self.thing, *new, *held)

    def places(self) -> tuple[str, ...]:
        """Where the pieces were set down."""
        return tuple(p.place for p in self.into if p.place)

    def introduces(self) -> tuple[str, ...]:
        """The new things."""
        return tuple(i.thing for i in self.into if i.thing)

    def settle(self, scene: Scene) -> Self:
        """Number the pieces."""
        pieces = settle_new(self.into, scene)
        refs = settle_refs(tuple(p.within for p in pieces if p.within), pieces)
        return self.model_copy(
            update={
                "into": tuple(
                    p.model_copy(update={"within": refs[p.within]}) if p.within else p
                    for p in pieces
                )
            }
        )

    def apply(self, case: Case, event: Event) -> None:
        """Enter the pieces; what was divided entirely exists only as them."""
        whole = case.know(self.thing, event.moment)
        for piece in self.into:
            case.add(piece.born(event, (self.thing,)))
        if self.entirely:
            whole.move(Divided(tuple(p.thing or "" for p in self.into)), event.moment)

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """The thing must be in hand; the pieces are new and go into what is this case's."""
        yield from handling(scene, (self.thing,))
        yield from reachable(scene, self.thing)
        yield from numbers_spent(scene, self.introduces())
        whole = scene.find(self.thing)
        if self.entirely and whole and whole.what is ThingKind.DECEDENT:
            yield Objection(
                "decedent-divided",
                f"{self.thing} is the decedent, and goes on under its own number",
                "leave out entirely; what came apart from the body is beside it",
                findable=False,
            )
        packaging = whole is not None and whole.what is ThingKind.CONTAINER
        for piece in self.into:
            apart = packaging or piece.what is not ThingKind.CONTAINER
            if not apart or piece.what is ThingKind.DECEDENT:
                yield Objection(
                    "not-a-piece",
                    f"'{piece.description}' is {piece.what.value}, which comes apart from nothing",
                    "record packaging as provided, and what came apart as what it is",
                    findable=False,
                )
        for piece in self.into:
            if piece.within and piece.within not in {p.thing for p in self.into}:
                yield from going_into(scene, (), piece.within)


def can_be_one(thing: Thing, whole: Thing) -> bool:
    """Whether a thing can become one with another: tissue with tissue or the body, else its like.

    What lies in packaging, or a device in the body, stays a thing of its own.
    """
    if thing.what in TISSUE:
        return whole.what in (*TISSUE, ThingKind.DECEDENT)
    return thing.what is whole.what and thing.what is not ThingKind.CONTAINER


def goes_inside(thing: Thing, whole: Thing) -> bool:
    """Whether it becomes one with the whole only through the whole's opening.

    A limb named as one is sewn on from outside: common practice, no source. Viscera, a specimen,
    an organ whose mass is published, and a part nobody named go into the cavity.
    """
    named = thing.organ if thing.what is ThingKind.PART else None
    limb = named is not None and bounds(named, None, None, 0) is None
    return not (limb and whole.what is ThingKind.DECEDENT)


class Joined(Act):
    """Several things became one, or a limb was reattached to the body."""

    kind: Literal["joined"] = "joined"
    things: tuple[ThingId, ...] = Field(min_length=1, max_length=50)
    to: ThingId = Field(description="the thing they are part of from here on")

    @model_validator(mode="after")
    def _not_itself(self) -> Self:
        if self.to in self.things:
            raise ValueError(f"{self.to} cannot be joined to itself")
        return self

    def mentions(self) -> tuple[str, ...]:
        """What was joined, and to what."""
        return (*self.things, self.to)

    def apply(self, case: Case, event: Event) -> None:
        """They are accounted for through the thing they were joined to."""
        case.know(self.to, event.moment)
        for thing_id in self.things:
            case.know(thing_id, event.moment).move(PartOf(self.to), event.moment)

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """All of them in hand, all of this case, and open what they become part of."""
        yield from handling(scene, self.mentions())
        for thing_id in self.mentions():
            yield from reachable(scene, thing_id)
        whole = scene.find(self.to)
        for thing in filter(None, map(scene.find, self.things)):
            if whole and not can_be_one(thing, whole):
                yield Objection(
                    "cannot-be-one",
                    f"{thing.id} ({thing.description}) is {thing.what.value}, and cannot become one"
                    f" with {self.to} ({whole.description})",
                    "record where it was put instead (put-in)",
                    findable=False,
                )
            outside = self.to not in {t.id for t in scene.around(thing.id)}
            if whole and whole.shut and outside and goes_inside(thing, whole):
                yield Objection(
                    "shut",
                    f"{self.to} ({whole.description}) is recorded closed",
                    f"record that {self.to} was opened first",
                )
        wholes = {t.id for t in scene.wholes(self.to)}
        for thing_id in self.things:
            if thing_id in wholes:
                yield Objection(
                    "inside-itself",
                    f"{self.to} is in or one with {thing_id}, which cannot become part of it",
                    "name as `to` what they have become part of",
                    findable=False,
                )
            held = scene.owner(thing_id).contents(thing_id)
            if held:
                yield Objection(
                    "not-empty",
                    f"{thing_id} still holds {', '.join(t.id for t in held)} by the record",
                    "record what was taken out first",
                )


class Associated(OnMany):
    """Remains received as unidentified turned out to be this person's; they keep their number."""

    kind: Literal["associated"] = "associated"
    changes_presence: ClassVar[bool] = True
    things: tuple[ThingId, ...] = Field(min_length=1, max_length=50)
    to_case: CaseNumber
    authority: Text
    document: Digest | None = None

    def cases(self) -> tuple[str, ...]:
        """The case they belong to from here on."""
        return (self.to_case,)

    def apply(self, case: Case, event: Event) -> None:
        """They belong to that case, which has learned what they are and where."""
        for thing_id in self.things:
            thing = case.know(thing_id, event.moment)
            thing.changes.append(event.moment)
            case.associated[thing_id] = self.to_case
            if case.number == self.to_case:
                thing.receipt = "associated"

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """They must be this case's, and not that case's already."""
        for thing_id in self.things:
            yield from wrong_case(scene, thing_id)
            if case_of(thing_id) == self.to_case:
                yield Objection(
                    "own-thing",
                    f"{thing_id} is already of case {self.to_case}",
                    "name the case it turned out to belong to",
                    findable=False,
                )
            thing, other = scene.find(thing_id), scene.others.get(self.to_case)
            if thing and thing.what is ThingKind.DECEDENT and other and other.decedent:
                yield Objection(
                    "second-decedent",
                    f"case {self.to_case} already has its decedent",
                    "name the case of this decedent, or open one",
                    findable=False,
                )
