"""Thing and Case: what a case's entries add up to, at any moment.

A case's chain holds every entry that touches its things: an act that touches two cases is
written into both chains, so a case can be read, proved and handed out alone. Another case's thing
is followed only while it and a thing of this one are together: no act on it goes unheard here
until the one that parts them, and nothing of it is heard, or said, after that.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from continuity.care.nesting import inwards, lies_in, outwards, parts_of
from continuity.care.records import Irregularity, Leaving, Sighting
from continuity.care.things import (
    GONE,
    HERE,
    AtPlace,
    Disposition,
    Form,
    Inside,
    Intention,
    PartOf,
    Power,
    ThingKind,
    Unseen,
    Whereabouts,
    WithHolder,
    case_of,
    natural,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.known import Known
    from continuity.care.records import (
        CheckSigned,
        Closure,
        Condition,
        Counted,
        Event,
        Identification,
        Instruction,
        Label,
        Moment,
        Planned,
        Retention,
        Sharing,
        Step,
        Transfer,
        Weight,
    )
    from continuity.care.things import AgeGroup, Sex


@dataclass(slots=True)
class Thing:
    """One thing of a case, as its entries leave it."""

    id: str
    what: ThingKind
    description: str
    came: Moment
    where: Whereabouts
    form: Form | None = None
    power: Power = Power.NONE
    intention: Intention | None = None
    receipt: str = "produced"
    declared_seal: str | None = None
    found_seal: str | None = None
    declared_label: str | None = None
    found_label: str | None = None
    inferred: bool = False
    organ: str | None = None
    parents: tuple[str, ...] = ()
    moved: Moment | None = None
    changes: list[Moment] = field(default_factory=list)
    closures: list[Closure] = field(default_factory=list)
    sightings: list[Sighting] = field(default_factory=list)
    steps: list[Step] = field(default_factory=list)
    conditions: list[Condition] = field(default_factory=list)
    around: list[tuple[str, Condition]] = field(default_factory=list)
    weights: list[Weight] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    voided: set[str] = field(default_factory=set)
    retention: Retention | None = None
    instruction: Instruction | None = None
    leaving: Leaving | None = None
    rested_in: tuple[str, ...] = ()
    disc_agrees: bool | None = None

    @property
    def case(self) -> str:
        """The number of the case the thing belongs to."""
        return case_of(self.id)

    @property
    def gone(self) -> bool:
        """Whether nothing more can happen to it under its own number."""
        return isinstance(self.where, GONE)

    @property
    def moved_since_leaving(self) -> bool:
        """Whether it had left, and was recorded somewhere else after that."""
        return bool(self.leaving and self.moved and self.moved > self.leaving.moment)

    @property
    def shut(self) -> bool:
        """Whether it was last recorded closed: sealed, sutured, or its lid closed."""
        return bool(self.closures) and self.closures[-1].shut

    @property
    def seal(self) -> str | None:
        """The number of the seal that is on it now."""
        return self.closures[-1].seal if self.shut else None

    @property
    def last_sighting(self) -> Sighting | None:
        """The latest sighting, by the order of what happened."""
        return max(self.sightings, key=lambda s: s.moment) if self.sightings else None

    @property
    def label(self) -> Label | None:
        """The label in force, unless it was voided."""
        standing = [label for label in self.labels if label.code not in self.voided]
        return standing[-1] if standing else None

    @property
    def borne(self) -> str | None:
        """What can be scanned on it: the label in force, or the one it came with."""
        if self.label:
            return self.label.code
        return None if self.found_label in self.voided else self.found_label

    def step(self, *names: str) -> Step | None:
        """The last of these care steps that was done on it."""
        return next((s for s in reversed(self.steps) if s.step in names), None)

    def move(self, where: Whereabouts, moment: Moment) -> None:
        """Put the thing somewhere; from then on an earlier sighting is of another place."""
        self.where = where
        self.moved = moment
        self.changes.append(moment)


@dataclass(slots=True)
class Case:
    """The state of one case. Change it only by folding entries."""

    id: str
    number: str = ""
    coroner_reference: str | None = None
    release_authority: str | None = None
    unidentified: bool = False
    sex: Sex | None = None
    age_group: AgeGroup | None = None
    opened: Moment | None = None
    plans: list[Planned] = field(default_factory=list)
    things: dict[str, Thing] = field(default_factory=dict)
    parted: dict[str, Thing] = field(default_factory=dict)
    identifications: list[Identification] = field(default_factory=list)
    irregularities: dict[int, Irregularity] = field(default_factory=dict)
    transfers: list[Transfer] = field(default_factory=list)
    counts: dict[str, Moment] = field(default_factory=dict)
    counted: dict[str, Counted] = field(default_factory=dict)
    checks: list[CheckSigned] = field(default_factory=list)
    shares: list[Sharing] = field(default_factory=list)
    retained_stated: tuple[Moment, str] | None = None
    associated: dict[str, str] = field(default_factory=dict)
    recalled: Moment | None = None
    disposed: tuple[Moment, Disposition] | None = None
    erased: dict[int, str] = field(default_factory=dict)
    events: list[Event] = field(default_factory=list)
    struck: dict[str, int] = field(default_factory=dict)
    struck_events: tuple[Event, ...] = ()
    highest_item: int = 0

    @property
    def planned(self) -> Planned | None:
        """The plan in force."""
        return self.plans[-1] if self.plans else None

    @property
    def own(self) -> list[Thing]:
        """The things that belong to this case, its associated ones too, in order of number."""
        mine = (t for t in self.things.values() if self.belongs(t.id))
        return sorted(mine, key=lambda t: natural(t.id))

    @property
    def decedent(self) -> Thing | None:
        """The decedent, once received."""
        return next((t for t in self.own if t.what is ThingKind.DECEDENT), None)

    @property
    def coffin(self) -> Thing | None:
        """The coffin the decedent lies in now, also another case's where it is shared."""
        return next(iter(self.coffins), None)

    @property
    def coffins(self) -> list[Thing]:
        """That coffin and, where it stands in another, the outer ones; innermost first."""
        body = self.decedent
        chain = self.containers_of(body.id) if body else []
        return [t for t in chain if t.form is Form.COFFIN]

    @property
    def in_care(self) -> bool:
        """Whether the firm still answers for it: no disposition yet, or a thing of it is here."""
        return self.disposed is None or any(
            isinstance(self.resting(t.id), AtPlace) for t in self.own
        )

    def belongs(self, thing: str) -> bool:
        """Whether a thing is this case's by its number, or by a recorded association."""
        if thing in self.associated:
            return self.associated[thing] == self.number
        return case_of(thing) == self.number

    def containers_of(self, thing: str) -> list[Thing]:
        """What the thing is in, what that is in, and so on, innermost first."""
        return outwards(self.things.get, thing)

    def contents(self, container: str) -> list[Thing]:
        """What lies directly in a container."""
        return [t for t in self.things.values() if lies_in(t, container)]

    def bearers(self, thing: Thing) -> Iterator[Thing]:
        """What may bear a thing's label: it, and the packs around it up to the body or coffin."""
        yield thing
        for outer in self.containers_of(thing.id):
            if outer.what is not ThingKind.CONTAINER or outer.form is Form.COFFIN:
                return
            yield outer

    def see(
        self, thing_id: str, moment: Moment, *, scanned: bool, for_closing: bool = False
    ) -> None:
        """Note that a thing was seen; a scan is one only where there was a label to be scanned.

        Tissue bears none of its own: the label of the pack it lies in is scanned. The decedent's
        tag counts once it was read.
        """
        thing = self.things[thing_id]
        tagged = any(
            i.thing == thing_id and source == "body-tag"
            for i in self.identifications
            for _, source in i.identifiers
        )
        could_be = tagged or any(bearer.borne for bearer in self.bearers(thing))
        thing.sightings.append(
            Sighting(moment, scanned and could_be, for_closing, scanned and not could_be)
        )

    def reached_into(self, outer: str) -> Moment | None:
        """When something last went into the cavity, or a pack, or came out: it was open then.

        An effect goes onto the body rather than into it, and a limb is sewn on outside.
        """
        worn = {ThingKind.EFFECT} if self.things[outer].what is ThingKind.DECEDENT else set()
        for event in reversed(self.events):
            act = event.act
            if act.kind not in ("put-in", "taken-out", "joined"):
                continue
            kinds = {self.things[t].what for t in act.things if t in self.things}
            if act.kind == "joined":
                if act.to == outer and ThingKind.VISCERA in kinds:
                    return event.moment
                continue
            ends = (act.into, getattr(act, "out_of", None))
            if outer in ends and kinds - worn:
                return event.moment
        return None

    def all_contents(self, container: str) -> list[Thing]:
        """Everything in a container, at any depth; a loop in the record ends the walk."""
        return inwards(self.contents, container)

    def resting(self, thing: str) -> Whereabouts:
        """Where the outermost container of a thing is, or the thing itself."""
        chain = self.containers_of(thing)
        return (chain[-1] if chain else self.things[thing]).where

    def holder(self, thing: str) -> str:
        """Who holds the thing now: `here`, or a named holder."""
        where = self.resting(thing)
        return where.holder if isinstance(where, WithHolder) else HERE

    def next_things(self) -> Iterator[str]:
        """Fresh numbers for new things; a struck thing's number is never used again."""
        item = self.highest_item
        while True:
            item += 1
            yield f"{self.number}.{item}"

    def know(self, thing: str, moment: Moment, what: ThingKind = ThingKind.CONTAINER) -> Thing:
        """The thing of this number; one never introduced is entered as unseen, not dropped."""
        if thing not in self.things:
            self.parted.pop(thing, None)
            unknown = Thing(thing, what, "known by number only", moment, Unseen())
            unknown.receipt = "mentioned"
            self.add(unknown)
        return self.things[thing]

    def learn(self, known: Known, moment: Moment) -> None:
        """Take over what another case knew of its own thing, as this case's act was recorded.

        What this case was told later, of an earlier time, is known better.
        """
        number, where = known.thing or "", known.where()
        if case_of(number) == self.number:
            return
        mine = self.know(number, moment)
        if mine.receipt == "mentioned":
            mine.what = known.what
            mine.form = known.form
            mine.description = known.description
            mine.organ = known.organ
            mine.power = known.power
            mine.intention = known.intention
            mine.disc_agrees = known.disc_agrees
            mine.receipt = "learned"
        mine.found_label = known.bears
        if mine.label and known.bears is None:
            mine.voided.add(mine.label.code)
        if mine.moved and mine.moved.told > moment.told:
            return
        left = mine.leaving.moment if mine.leaving and where == mine.where else moment
        mine.leaving = Leaving(left, **known.left.model_dump()) if known.left else None
        if where != mine.where:
            mine.move(where, moment)

    def part(self) -> None:
        """Follow another's things no longer that are not together with one of this case's.

        Together are what lies in, holds, is one with or was divided into another, what left so,
        and a coffin that may be shared.
        """
        mine = [t for t in self.things.values() if t.case == self.number or self.belongs(t.id)]
        numbers = {t.id for t in mine}
        kept = numbers | {s.coffin for s in self.shares if self.number in s.cases}
        for thing in mine:
            kept.update(thing.rested_in)
            kept.update(t.id for t in outwards(self.things.get, thing.id, (Inside, PartOf)))
            kept.update(t.id for t in inwards(self._parts, thing.id))
        kept.update(t.id for t in self.things.values() if not numbers.isdisjoint(t.rested_in))
        for number in [number for number in self.things if number not in kept]:
            self.parted[number] = self.things.pop(number)

    def _parts(self, outer: str) -> list[Thing]:
        return parts_of(self.things.get, self.things.values(), outer)

    def add(self, thing: Thing) -> None:
        """Enter a thing; its number is spent from now on."""
        self.things[thing.id] = thing
        if case_of(thing.id) == self.number:
            self.highest_item = max(self.highest_item, natural(thing.id)[1])

    def apply(self, event: Event) -> None:
        """Fold one more event in, as the latest of what happened."""
        self.events.append(event)
        for known in event.act.known:
            self.learn(known, event.moment)
        event.act.apply(self, event)
        raised = self.irregularities.get(event.number)
        if event.act.despite and raised:
            raised.codes += event.act.despite
        elif event.act.despite:
            things = tuple(event.act.mentions())
            what = f"{event.act.kind} of {', '.join(things)}" if things else event.act.kind
            self.irregularities[event.number] = Irregularity(
                event.number,
                event.moment,
                event.act.despite,
                things,
                f"{what}, found so in spite of {', '.join(event.act.despite)}",
            )
        if event.act.in_cases:
            self.part()

    def at_place(self, place: str) -> list[Thing]:
        """Everything whose outermost container, or which itself, lies at a place."""
        return [t for t in self.things.values() if self.resting(t.id) == AtPlace(place)]
