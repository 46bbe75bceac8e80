"""What every entry kind has: its fields, how it changes a case, and what speaks against it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Self

from pydantic import BaseModel, ConfigDict, Field, PlainSerializer, PlainValidator, WithJsonSchema

from continuity.care.refusal import Objection
from continuity.care.things import (
    GONE,
    HOLDS_THINGS,
    AtPlace,
    CaseNumber,
    Digest,
    Discarded,
    Disposed,
    Divided,
    Form,
    Inside,
    Intention,
    ItemRef,
    PartOf,
    PersonalField,
    Power,
    Released,
    Text,
    ThingId,
    ThingKind,
    Unseen,
    Whereabouts,
    WithHolder,
    case_of,
    natural,
)
from continuity.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from datetime import datetime

    from continuity.care.case import Case, Thing
    from continuity.care.house import House
    from continuity.care.records import Event


@dataclass(frozen=True, slots=True)
class Scene:
    """All that a judgement may look at: the case, the others it touches, the house, the hour."""

    case: Case
    others: Mapping[str, Case]
    house: House
    occurred_at: datetime
    persons: tuple[str, ...]
    fresh: tuple[str, ...] = ()
    """Numbers to use for new things before the case's next ones, when a correction renames none."""

    def owner(self, thing: str) -> Case:
        """The case whose chain is the authority on a thing."""
        number = case_of(thing)
        return self.others.get(number, self.case) if number != self.case.number else self.case

    def find(self, thing: str) -> Thing | None:
        """The thing as its own case knows it."""
        return self.owner(thing).things.get(thing)

    def around(self, thing: str) -> list[Thing]:
        """What a thing is in, and so on outwards, each as its own case knows it."""
        return self._outwards(thing, (Inside,))

    def wholes(self, thing: str) -> list[Thing]:
        """What a thing is in or one with, and so on outwards, each as its own case knows it."""
        return self._outwards(thing, (Inside, PartOf))

    def _outwards(self, thing: str, ways: tuple[type[Inside | PartOf], ...]) -> list[Thing]:
        chain: list[Thing] = []
        inner = self.find(thing)
        while inner and isinstance(inner.where, ways):
            inner = self.find(inner.where.thing)
            if inner is None or inner in chain:
                break
            chain.append(inner)
        return chain

    def within(self, thing: str) -> list[Thing]:
        """What a thing holds at any depth, each container's contents as its own case knows them."""
        return self._inwards(thing, (Inside,))

    def parts(self, thing: str) -> list[Thing]:
        """What a thing holds, was made one with, or was divided into, at any depth."""
        return self._inwards(thing, (Inside, PartOf))

    def _inwards(self, thing: str, ways: tuple[type[Inside | PartOf], ...]) -> list[Thing]:
        found: dict[str, Thing] = {}
        open_ends = [thing]
        while open_ends:
            outer = open_ends.pop()
            things = self.owner(outer).things.values()
            inner = [t for t in things if isinstance(t.where, ways) and t.where.thing == outer]
            whole = self.find(outer)
            if PartOf in ways and whole and isinstance(whole.where, Divided):
                inner += [t for t in map(self.find, whole.where.into) if t]
            new = [t for t in inner if t.id not in found and t.id != thing]
            found |= {t.id: t for t in new}
            open_ends += [t.id for t in new]
        return list(found.values())

    def resting(self, thing: str) -> Whereabouts | None:
        """Where the outermost container of a thing is, or the thing itself; None if unknown."""
        chain = self.around(thing)
        outermost = chain[-1] if chain else self.find(thing)
        return outermost.where if outermost else None

    def shared(self, thing: str) -> bool:
        """Whether a recorded authority lets this case use another case's coffin."""
        number = self.case.number
        return any(s.coffin == thing and number in s.cases for s in self.case.shares)


class Strict(BaseModel):
    """Frozen, and refuses what it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


class NewThing(Strict):
    """A thing that an act brings into the record."""

    thing: ThingId | None = Field(None, description="its number; given by the register when left")
    what: ThingKind
    form: Form | None = Field(None, description="for a container: what it is")
    description: Text = Field(description="in plain words, with no personal details")
    organ: Text | None = Field(None, description="for a part or specimen: which organ or limb")
    power: Power = Field(
        Power.NONE, description="for a device: what drives it; left out of an intent, unknown"
    )
    intention: Intention | None = Field(None, description="for an effect: what is to become of it")


class Left(Strict):
    """How a thing left for good, told to another case that has to do with it."""

    way: Text
    authority: Text | None = None
    relation: Text | None = None
    identity_checked: bool = False
    signed: bool = False
    method: Text | None = None

    @classmethod
    def of(cls, thing: Thing) -> Self | None:
        """How the thing left, as its own case knows it; None if it has not."""
        if thing.leaving is None:
            return None
        return cls(**{field: getattr(thing.leaving, field) for field in cls.model_fields})


class Known(NewThing):
    """A thing as its own case knows it, told to another case that has to do with it."""

    at_place: AtPlace | None = None
    inside: Inside | None = None
    with_holder: WithHolder | None = None
    part_of: PartOf | None = None
    divided: Divided | None = None
    released: Released | None = None
    disposed: Disposed | None = None
    discarded: Discarded | None = None
    left: Left | None = None
    disc_agrees: bool | None = None
    bears: Text | None = Field(None, description="the label that can be scanned on it")

    @classmethod
    def of(cls, thing: Thing, now: Thing | None) -> Self:
        """What the thing's own case knows of it now; nothing more, if it is on record no more."""
        where = now.where if now else Unseen()
        field = {kind: name for name, kind in _WHEREABOUTS.items()}.get(type(where))
        return cls(
            thing=thing.id,
            what=thing.what,
            form=thing.form,
            description=thing.description,
            organ=thing.organ,
            power=thing.power,
            intention=thing.intention,
            disc_agrees=thing.disc_agrees,
            bears=thing.borne,
            left=thing.leaving
            and Left(**{f: getattr(thing.leaving, f) for f in Left.model_fields}),
            **({field: thing.where} if field else {}),
        )

    def where(self) -> Whereabouts:
        """Where it was then."""
        told = (getattr(self, name) for name in _WHEREABOUTS)
        return next((where for where in told if where is not None), Unseen())


_WHEREABOUTS = {
    "at_place": AtPlace,
    "inside": Inside,
    "with_holder": WithHolder,
    "part_of": PartOf,
    "divided": Divided,
    "released": Released,
    "disposed": Disposed,
    "discarded": Discarded,
}


def _read_known(value: Any) -> tuple[Known, ...]:
    if not isinstance(value, list | tuple):
        raise ValueError("a list of things and where they are")  # noqa: TRY004 - pydantic's way
    return tuple(Known.model_validate(known) for known in value)


def _write_known(things: tuple[Known, ...]) -> list[dict[str, Any]]:
    return [known.model_dump(mode="json", exclude_defaults=True) for known in things]


if TYPE_CHECKING:
    KnownThings = tuple[Known, ...]
else:
    # Read by a function of its own, for few entries have it; and of Any, for pydantic builds what
    # a type says even where a function stands for it: every kind's model would build Known anew.
    KnownThings = Annotated[
        Any, PlainValidator(_read_known), PlainSerializer(_write_known), WithJsonSchema({})
    ]


class Act(Strict):
    """What an entry of one kind says. The fields of every kind stand in the published schema.

    A default never changes within a kind: fields at their default are left out of the record.
    """

    kind: str
    personal: dict[PersonalField, Text] = Field(
        default_factory=dict,
        description="personal details by name; the record keeps only a salted digest of each",
    )
    remark: Text | None = Field(None, description="in plain words, with no personal details")

    despite: tuple[Text, ...] = Field(
        (),
        description="objections it was recorded in spite of, as found to be so; the register's",
    )
    in_cases: tuple[CaseNumber, ...] = Field(
        (),
        description="where it touches several cases: those whose chains it stands in, the one it"
        " was recorded in first; the register's",
    )
    known: KnownThings = Field(
        (),
        description="where it touches several cases: what each thing was and where, as its own"
        " case knew it before; the register's",
    )

    filled_in: ClassVar[tuple[str, ...]] = ("despite", "in_cases", "known")
    """The fields that only the register fills in."""
    for_house: ClassVar[bool] = False
    """Whether the kind belongs into the register's own chain rather than a case's."""
    changes_presence: ClassVar[bool] = False
    """Whether by it a case may come into the firm's care, or leave it."""
    mirrored: ClassVar[bool] = True
    """Whether it is written into the chain of every case whose things it touches."""

    def details(self) -> dict[str, Any]:
        """The fields as the record keeps them."""
        return self.model_dump(mode="json", exclude={"kind"}, exclude_defaults=True)

    def mentions(self) -> tuple[str, ...]:
        """The things it names, new ones too."""
        return ()

    def introduces(self) -> tuple[str, ...]:
        """Of the things it names, those it brings into the record."""
        return ()

    def places(self) -> tuple[str, ...]:
        """The places it names."""
        return ()

    def holders(self) -> tuple[str, ...]:
        """The holders it names."""
        return ()

    def cases(self) -> tuple[str, ...]:
        """The cases it names, beyond those of the things it mentions."""
        return ()

    def opens(self) -> str | None:
        """The number of the case it opens."""
        return None

    def labels(self) -> tuple[str, str] | None:
        """The label code it puts on a thing, and the thing."""
        return None

    def settle(self, scene: Scene) -> Self:
        """The same act with what only the register can fill in: numbers of new things."""
        del scene
        return self

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """What speaks against doing this now."""
        del scene
        yield from ()

    def apply(self, case: Case, event: Event) -> None:
        """Change the case as this act changed the world."""


def settle_new(items: tuple[Any, ...], scene: Scene) -> tuple[Any, ...]:
    """Give each new thing without a number the case's next one."""
    fresh = chain(scene.fresh, scene.case.next_things())
    taken = {item.thing for item in items}
    numbers = (number for number in fresh if number not in taken)
    return tuple(
        item if item.thing else item.model_copy(update={"thing": next(numbers)}) for item in items
    )


def numbers_spent(scene: Scene, new: Iterable[str]) -> Iterator[Objection]:
    """A new thing's number must be new: not used before, nor by an entry that was struck."""
    for thing in new:
        if natural(thing)[1] <= scene.case.highest_item:
            yield Objection(
                "number-spent",
                f"{thing} has already been a thing of this case",
                "leave the number out; the register gives the next one",
                findable=False,
            )


def settle_refs(refs: tuple[ItemRef, ...], items: tuple[Any, ...]) -> dict[str, str]:
    """What each `#n` stands for, once the new things have their numbers.

    Raises:
        InputError: a reference points past the last new thing.
    """
    settled = {}
    for ref in refs:
        if not ref.startswith("#"):
            settled[ref] = ref
            continue
        index = int(ref[1:])
        if index > len(items):
            raise InputError(f"{ref} names new thing {index} of {len(items)}")
        settled[ref] = items[index - 1].thing
    return settled


def handling(scene: Scene, things: tuple[str, ...]) -> Iterator[Objection]:
    """What speaks against taking these things of the case in hand: gone, elsewhere, another's."""
    for thing_id in things:
        yield from wrong_case(scene, thing_id)
        thing = scene.find(thing_id)
        if thing is None:
            continue
        resting = scene.resting(thing_id)
        if isinstance(resting, GONE):
            yield Objection(
                "already-gone",
                f"{thing_id} ({thing.description}) has already left under its own number",
                "check the label; if it is here all the same, record it with --found",
            )
            continue
        if isinstance(resting, WithHolder):
            yield Objection(
                "not-here",
                f"{thing_id} ({thing.description}) is recorded with {resting.holder}",
                "record that it came back (returned) before handling it",
            )


def wrong_case(scene: Scene, thing: str) -> Iterator[Objection]:
    """Another case's thing, unless a recorded association or sharing makes it this case's."""
    if scene.case.belongs(thing) or scene.shared(thing):
        return
    yield Objection(
        "wrong-case",
        f"{thing} belongs to case {case_of(thing)}, and this is case {scene.case.number}",
        "take the thing of the right case; if it is found so, record it with --found",
    )


def reachable(scene: Scene, thing: str) -> Iterator[Objection]:
    """What is shut in cannot be taken in hand before what it is in was opened."""
    for outer in scene.around(thing):
        if outer.shut:
            yield Objection(
                "shut-in",
                f"{thing} is inside {outer.id} ({outer.description}), which is recorded closed",
                f"record that {outer.id} was opened first",
            )


def going_into(scene: Scene, things: tuple[str, ...], into: str) -> Iterator[Objection]:
    """What things go into must be this case's, here, open, able to hold them, and not in them."""
    yield from handling(scene, (into,))
    yield from reachable(scene, into)
    target = scene.find(into)
    if target is None:
        return
    if target.what not in HOLDS_THINGS:
        yield Objection(
            "holds-nothing",
            f"{into} ({target.description}) is neither a container nor the body",
            "name the container it went into",
            findable=False,
        )
    if target.shut:
        yield Objection(
            "shut",
            f"{into} ({target.description}) is recorded closed",
            f"record that {into} was opened first",
        )
    around = {into, *(t.id for t in scene.around(into))}
    for thing in things:
        if thing in around:
            yield Objection(
                "inside-itself",
                f"{into} lies inside {thing}, which cannot go into it",
                "name the outer container",
                findable=False,
            )


__all__ = [
    "Act",
    "Digest",
    "Known",
    "NewThing",
    "Objection",
    "Scene",
    "Strict",
    "going_into",
    "handling",
    "reachable",
    "settle_new",
    "settle_refs",
    "wrong_case",
]
