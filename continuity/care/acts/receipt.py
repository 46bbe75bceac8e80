"""What came is compared with what was declared; the decedent is identified; condition is noted."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Literal, Self

from pydantic import Field, model_validator

from continuity.care.acts.base import (
    Act,
    OnOne,
    handling,
    numbers_spent,
    settle_new,
    settle_refs,
    wrong_case,
)
from continuity.care.case import Thing
from continuity.care.known import NewThing, Strict
from continuity.care.records import (
    Closure,
    Condition,
    Identification,
    Irregularity,
    Sighting,
    Transfer,
)
from continuity.care.refusal import Objection
from continuity.care.things import (
    HERE,
    TISSUE,
    AgeGroup,
    AtPlace,
    Digest,
    Form,
    Inside,
    ItemRef,
    Sex,
    Slug,
    Text,
    ThingKind,
    Unseen,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Case
    from continuity.care.records import Event
    from continuity.care.scene import Scene


class ReceivedItem(NewThing):
    """One thing declared, found, or both."""

    receipt: Literal["as-declared", "missing", "extra"] = Field(
        "as-declared",
        description="found as declared; declared and not found; found and not declared",
    )
    within: ItemRef | None = Field(None, description="what it lay in: a thing, or #n of this act")
    declared_seal: Text | None = None
    found_seal: Text | None = None
    declared_label: Text | None = None
    found_label: Text | None = None
    inferred: bool = Field(
        default=False, description="taken to be inside on the sender's word; nobody looked"
    )


class Received(Act):
    """Things came into the firm's custody."""

    kind: Literal["received"] = "received"
    changes_presence: ClassVar[bool] = True
    giver: Slug = Field(description="the holder they came from")
    place: Slug = Field(description="where they were set down")
    items: tuple[ReceivedItem, ...] = Field(min_length=1, max_length=200)
    authority: Text | None = None
    document: Digest | None = Field(None, description="SHA-256 of the delivery paper")
    giver_signed: bool | None = Field(
        None, description="the giver signed the hand-over; left out, nobody says so"
    )

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        for item in self.items:
            if item.receipt == "missing" and (item.found_seal or item.found_label):
                raise ValueError(f"'{item.description}' is missing, and yet its seal was read")
        refs = tuple(i.within for i in self.items if i.within)
        own = tuple(f"#{n}" for n in range(1, len(self.items) + 1))
        for ref in refs:
            if ref.startswith("#") and ref not in own:
                raise ValueError(f"within {ref}: this act has {len(self.items)} items")
        for number, item in enumerate(self.items, 1):
            if item.within == f"#{number}":
                raise ValueError(f"item #{number} cannot lie within itself")
        return self

    def mentions(self) -> tuple[str, ...]:
        """New things, and what they lay in."""
        new = tuple(i.thing for i in self.items if i.thing)
        held = (i.within for i in self.items)
        return new + tuple(w for w in held if w and not w.startswith("#"))

    def places(self) -> tuple[str, ...]:
        """Where they were set down."""
        return (self.place,)

    def holders(self) -> tuple[str, ...]:
        """Who gave them."""
        return (self.giver,)

    def introduces(self) -> tuple[str, ...]:
        """The new things."""
        return tuple(i.thing for i in self.items if i.thing)

    def settle(self, scene: Scene) -> Self:
        """Number the new things and what they lie in."""
        items = settle_new(self.items, scene)
        refs = settle_refs(tuple(i.within for i in items if i.within), items)
        return self.model_copy(
            update={
                "items": tuple(
                    i.model_copy(update={"within": refs[i.within]}) if i.within else i
                    for i in items
                )
            }
        )

    def apply(self, case: Case, event: Event) -> None:
        """Enter each thing; custody is the firm's from here on."""
        for item in self.items:
            thing_id = item.thing or ""
            case.add(
                Thing(
                    id=thing_id,
                    what=item.what,
                    description=item.description,
                    came=event.moment,
                    where=self._where(item),
                    form=item.form,
                    power=item.power,
                    intention=item.intention,
                    receipt=item.receipt,
                    declared_seal=item.declared_seal,
                    found_seal=item.found_seal,
                    declared_label=item.declared_label,
                    found_label=item.found_label,
                    inferred=item.inferred,
                    organ=item.organ,
                    moved=event.moment,
                )
            )
            if item.found_seal:
                case.things[thing_id].closures.append(
                    Closure(event.moment, shut=True, how="sealed", seal=item.found_seal)
                )
        for item in self.items:
            if item.within:
                case.know(item.within, event.moment)
        found = tuple(i.thing for i in self.items if i.thing and i.receipt != "missing")
        case.transfers.append(
            Transfer(
                event.moment,
                found,
                self.giver,
                HERE,
                self.authority,
                self.document,
                event.moment if self.giver_signed else None,
                event.number,
                unstated=self.giver_signed is None,
            )
        )

    def _where(self, item: ReceivedItem) -> AtPlace | Inside | Unseen:
        if item.receipt == "missing":
            return Unseen()
        return Inside(item.within) if item.within else AtPlace(self.place)

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """One decedent a case; numbers new; lay in what belongs to this case."""
        bodies = [i for i in self.items if i.what is ThingKind.DECEDENT and i.receipt != "missing"]
        if len(bodies) + (scene.case.decedent is not None) > 1:
            yield Objection(
                "second-decedent",
                f"case {scene.case.number} already has its decedent",
                "open a case for each decedent",
                findable=False,
            )
        yield from numbers_spent(scene, self.introduces())
        for item in self.items:
            if item.within and item.within not in {i.thing for i in self.items}:
                yield from wrong_case(scene, item.within)


SOURCES = ("body-tag", "paper", "shelf-plate")
"""Where identifiers are read from, as most houses say it."""


class Identifier(Strict):
    """One identifier read, and where it was read from."""

    what: Text = Field(
        description="which was read: name, date-of-birth, mortuary-number, coroner-reference, ..."
    )
    read_from: Text | None = Field(
        None,
        description=f"where: {', '.join(SOURCES)}, ...; what is not said to come from the body does"
        " not count",
    )


class Identified(OnOne):
    """The decedent was identified, from what and by whom; those who did it sign."""

    kind: Literal["identified"] = "identified"
    stage: Literal["receipt", "closing", "other"] = "other"
    identifiers: tuple[Identifier, ...] = Field(min_length=1, max_length=20)
    agree: bool | None = Field(
        None, description="all of them agree with the papers; left out, nobody says so"
    )
    sex: Sex | None = Field(None, description="for the tables of organ weights; identifies nobody")
    age_group: AgeGroup | None = Field(None, description="for the same tables")

    def apply(self, case: Case, event: Event) -> None:
        """Note the identification, which is a sighting too; a disagreement opens a matter."""
        thing = case.know(self.thing, event.moment, ThingKind.DECEDENT)
        case.identifications.append(
            Identification(
                event.moment,
                self.thing,
                self.stage,
                tuple((i.what, i.read_from) for i in self.identifiers),
                self.agree,
                event.persons,
            )
        )
        if self.agree is False:
            case.irregularities[event.number] = Irregularity(
                event.number,
                event.moment,
                ("identifiers-disagree",),
                (self.thing,),
                f"the identifiers read of {self.thing} do not agree with the papers",
            )
        case.sex = self.sex or case.sex
        case.age_group = self.age_group or case.age_group
        scanned = any(i.read_from == "body-tag" for i in self.identifiers)
        thing.sightings.append(Sighting(event.moment, scanned, self.stage == "closing"))

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """Only what is here can be identified, and by what was read rather than by where."""
        yield from handling(scene, (self.thing,))
        for identifier in self.identifiers:
            if identifier.what in SOURCES:
                yield Objection(
                    "source-for-identifier",
                    f"{identifier.what} is where identifiers are read from, and identifies nobody",
                    f"say in what which identifier was read (name, date-of-birth, ...), and in"
                    f" read_from that it was the {identifier.what}",
                    findable=False,
                )


class Inspected(OnOne):
    """A thing was looked at: leak, odour, dryness, suture, seal, emptiness."""

    kind: Literal["inspected"] = "inspected"
    leak: bool | None = None
    odour: bool | None = None
    dry: bool | None = None
    suture: Literal["sound", "gaping", "absent"] | None = None
    seal: Literal["intact", "broken", "absent"] | None = None
    seal_number: Text | None = Field(None, description="as read from the seal")
    implants: Literal["none", "found", "unknown"] | None = Field(
        None, description="for the body: whether it holds a device with a battery or a source"
    )
    empty: bool | None = Field(
        None, description="for a container: somebody looked into it, and it was empty"
    )
    photograph: Digest | None = None

    def apply(self, case: Case, event: Event) -> None:
        """Note the condition; the tissue in it remembers what was seen of what it lay in."""
        thing = case.know(self.thing, event.moment)
        condition = Condition(
            event.moment,
            self.leak,
            self.odour,
            self.dry,
            self.suture,
            self.seal,
            self.seal_number,
            self.implants,
            self.empty,
        )
        thing.conditions.append(condition)
        if thing.form is not Form.COFFIN:
            for content in case.all_contents(self.thing):
                if content.what in TISSUE:
                    content.around.append((self.thing, condition))

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """Only what is here can be looked at, and something must have been looked for."""
        yield from handling(scene, (self.thing,))
        if not set(self.details()) - {"thing", "photograph", "remark", *self.filled_in}:
            yield Objection(
                "nothing-seen",
                f"nothing is said of what was seen of {self.thing}",
                "say what was looked for and found or not: leak, odour, dry, suture, seal, empty",
                findable=False,
            )
