"""What every entry kind has: its fields, how it changes a case, and what speaks against it."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING, Any, ClassVar, Self

from pydantic import Field

from continuity.care.known import KnownThings, Strict
from continuity.care.refusal import Objection
from continuity.care.things import (
    GONE,
    HOLDS_THINGS,
    CaseNumber,
    ItemRef,
    PersonalField,
    Text,
    ThingId,
    WithHolder,
    case_of,
    natural,
)
from continuity.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from continuity.care.case import Case, Thing
    from continuity.care.records import Event
    from continuity.care.scene import Scene


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
        return self.model_dump(mode="json", exclude_defaults=True)

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

    def strikes_leaf(self) -> str | None:
        """The leaf of the entry that it strikes, in hexadecimal."""
        return None

    def brings_key(self) -> str | None:
        """The public key that it brings in, which signs it only to prove that somebody has it."""
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


class OnOne(Act):
    """An act on one thing of the case."""

    thing: ThingId

    def mentions(self) -> tuple[str, ...]:
        """The thing."""
        return (self.thing,)

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """It must be here, of this case, and not shut in."""
        yield from handling(scene, (self.thing,))
        yield from reachable(scene, self.thing)


class OnMany(Act):
    """An act on things of the case, all at once."""

    things: tuple[ThingId, ...] = Field(min_length=1, max_length=200)

    def mentions(self) -> tuple[str, ...]:
        """The things."""
        return self.things

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """They must be here, of this case, and not shut in."""
        yield from handling(scene, self.things)
        for thing in self.things:
            yield from reachable(scene, thing)


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
        thing, resting = scene.find(thing_id), scene.resting(thing_id)
        if thing and isinstance(resting, GONE):
            yield Objection(
                "already-gone",
                f"{thing_id} ({thing.description}) has already left under its own number",
                "check the label; if it is here all the same, record it with --found",
            )
        elif thing and isinstance(resting, WithHolder):
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
        yield from shut_in(thing, outer)


def shut_in(thing: str, outer: Thing) -> Iterator[Objection]:
    """What a thing is in is closed over it."""
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
