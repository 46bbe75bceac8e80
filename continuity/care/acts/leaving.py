"""How things leave for good: released, the coffin closed, the disposition, the ashes, a recall."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Literal, Self

from pydantic import Field

from continuity.care.acts.base import (
    Act,
    OnMany,
    OnOne,
    numbers_spent,
    settle_new,
    shut_in,
    wrong_case,
)
from continuity.care.acts.movement import give
from continuity.care.case import Thing
from continuity.care.changes import changed_since
from continuity.care.known import NewThing
from continuity.care.records import Closure, Leaving, Sharing, Transfer, Weight
from continuity.care.refusal import Objection
from continuity.care.things import (
    GONE,
    HERE,
    AtPlace,
    CaseNumber,
    Digest,
    Disposition,
    Form,
    Grams,
    Released,
    Slug,
    Text,
    ThingId,
    ThingKind,
)
from continuity.care.things import Disposed as DisposedOf

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Case
    from continuity.care.records import Event
    from continuity.care.scene import Scene


class ReleasedTo(OnMany):
    """Things were given to a person for good. Personal details: recipient, document, ..."""

    kind: Literal["released"] = "released"
    changes_presence: ClassVar[bool] = True
    relation: Text = Field(description="to the decedent, or the office held")
    authority: Text | None = Field(None, description="by what right this person receives it")
    identity_checked: bool = Field(default=False, description="an identity document was seen")
    signed: bool = Field(default=False, description="the recipient signed")
    signature: Digest | None = Field(None, description="SHA-256 of the signed receipt")

    def apply(self, case: Case, event: Event) -> None:
        """They are gone, with what stands behind it."""
        for thing_id in self.things:
            for thing in (case.know(thing_id, event.moment), *case.all_contents(thing_id)):
                thing.leaving = Leaving(
                    event.moment,
                    "released",
                    self.authority,
                    self.relation,
                    self.identity_checked,
                    self.signed,
                )
                if thing.id == thing_id:
                    thing.move(Released(self.authority), event.moment)

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """Nothing that is of the person leaves without authority."""
        yield from super().objections(scene)
        for thing_id in self.things:
            goes = [t for t in (scene.find(thing_id), *scene.within(thing_id)) if t]
            if any(t.what is ThingKind.DECEDENT for t in goes):
                yield Objection(
                    "decedent-is-not-released-so",
                    f"{thing_id} is the decedent, or holds a decedent",
                    "record handed-over, or the disposition",
                    findable=False,
                )
        if not self.authority:
            yield Objection(
                "no-authority",
                f"nothing says by what right {', '.join(self.things)} leave",
                "name the authority; if they have left without, record it with --found",
            )


class CoffinClosed(OnOne):
    """The coffin was closed."""

    kind: Literal["coffin-closed"] = "coffin-closed"
    seal: Text | None = None

    def apply(self, case: Case, event: Event) -> None:
        """It is shut."""
        case.know(self.thing, event.moment).closures.append(
            Closure(event.moment, shut=True, how="closed", seal=self.seal)
        )

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """A coffin, and a closing check signed since the last change in it."""
        yield from super().objections(scene)
        coffin = scene.find(self.thing)
        if coffin and coffin.form is not Form.COFFIN:
            yield Objection(
                "not-a-coffin",
                f"{self.thing} ({coffin.description}) is not a coffin",
                "name the coffin",
                findable=False,
            )
        if coffin and coffin.shut:
            yield Objection(
                "already-closed",
                f"{self.thing} is already recorded closed",
                "record the reopening that was missed, or leave this out",
            )
        if not checked_since_change(scene.case, self.thing):
            yield Objection(
                "no-closing-check",
                f"no closing check of case {scene.case.number} was signed since something changed",
                "do the closing check and sign it; if the coffin was closed without, use --found",
            )


def checked_since_change(case: Case, coffin: str) -> bool:
    """Whether nothing came, was moved or opened since the last check was signed."""
    if not case.checks:
        return False
    check = case.checks[-1]
    if check.coffin not in (None, coffin):
        return False
    return not changed_since(case, coffin, check.moment)


class CoffinReopened(OnOne):
    """The coffin was opened again."""

    kind: Literal["coffin-reopened"] = "coffin-reopened"
    reason: Text

    def apply(self, case: Case, event: Event) -> None:
        """It is open; an earlier check no longer holds."""
        case.know(self.thing, event.moment).closures.append(
            Closure(event.moment, shut=False, how="reopened")
        )

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """It must be closed."""
        yield from super().objections(scene)
        coffin = scene.find(self.thing)
        if coffin and not coffin.shut:
            yield Objection(
                "not-closed",
                f"{self.thing} ({coffin.description}) is not recorded closed",
                "record the closing that was missed, or leave this out",
            )


class CoffinShared(Act):
    """Authority for several cases to share one coffin, as a parent and a stillborn child."""

    kind: Literal["coffin-shared"] = "coffin-shared"
    coffin: ThingId
    with_cases: tuple[CaseNumber, ...] = Field(min_length=2, max_length=10)
    authority: Text
    document: Digest | None = None

    def mentions(self) -> tuple[str, ...]:
        """The coffin."""
        return (self.coffin,)

    def cases(self) -> tuple[str, ...]:
        """All cases it names."""
        return self.with_cases

    def apply(self, case: Case, event: Event) -> None:
        """The sharing is lawful from here on."""
        case.know(self.coffin, event.moment)
        case.shares.append(Sharing(event.moment, self.coffin, self.with_cases, self.authority))

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """It must be a coffin, and the case must be named."""
        coffin = scene.find(self.coffin)
        if coffin and coffin.form is not Form.COFFIN:
            yield Objection(
                "not-a-coffin",
                f"{self.coffin} ({coffin.description}) is not a coffin",
                "name the coffin",
                findable=False,
            )
        if scene.case.number not in self.with_cases:
            yield Objection(
                "case-not-named",
                f"the authority names {', '.join(self.with_cases)}, not {scene.case.number}",
                "record it in one of the cases it names",
                findable=False,
            )


class Disposed(OnMany):
    """The final disposition: buried, cremated, entombed, sent abroad; or lawful disposal."""

    kind: Literal["disposed"] = "disposed"
    changes_presence: ClassVar[bool] = True
    things: tuple[ThingId, ...] = Field(min_length=1, max_length=50)
    manner: Disposition
    where: Text = Field(description="the place of it, in words; no personal details")
    authority: Text | None = None
    method: Text | None = Field(None, description="for lawful disposal: how")
    document: Digest | None = None

    def apply(self, case: Case, event: Event) -> None:
        """They and all they hold have reached their disposition."""
        body = case.decedent
        gone = {
            thing.id: thing
            for thing_id in self.things
            for thing in (case.know(thing_id, event.moment), *case.all_contents(thing_id))
        }
        for thing in gone.values():
            thing.leaving = Leaving(
                event.moment, self.manner.value, self.authority, method=self.method
            )
            thing.rested_in = tuple(t.id for t in case.containers_of(thing.id))
        for thing in gone.values():
            thing.move(DisposedOf(self.manner, self.authority), event.moment)
        if body and body.id in gone:
            case.disposed = (event.moment, self.manner)

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """On authority, not out of what is shut; a decedent only from a closed coffin."""
        for thing_id in self.things:
            yield from wrong_case(scene, thing_id)
            yield from self._left_shut(scene, thing_id)
            thing = scene.find(thing_id)
            if thing and isinstance(scene.resting(thing_id), GONE):
                yield Objection(
                    "already-gone",
                    f"{thing_id} ({thing.description}) has already left under its own number",
                    "check the label; if it is so all the same, record it with --found",
                )
        if not self.authority:
            yield Objection(
                "no-authority",
                f"nothing says by what right {', '.join(self.things)} are disposed of",
                "name the authority; if it has been done without, record it with --found",
            )
        if self.manner is Disposition.UNDECIDED:
            yield Objection(
                "no-manner",
                f"undecided is no manner in which {', '.join(self.things)} can be disposed of",
                "say what was done: burial, cremation, ...",
                findable=False,
            )
        if self.manner is Disposition.LAWFUL_DISPOSAL and not self.method:
            yield Objection(
                "no-method",
                "the method of disposal is not named",
                "name the method; if nobody knows it, record it with --found",
            )
        body = scene.case.decedent
        goes = body and any(
            body.id == t or body.id in {c.id for c in scene.case.all_contents(t)}
            for t in self.things
        )
        coffin = scene.case.coffin
        if goes and (coffin is None or not coffin.shut):
            yield Objection(
                "coffin-not-closed",
                f"the decedent of case {scene.case.number} is not recorded in a closed coffin",
                "do the closing check, close the coffin; if it was done without, use --found",
            )

    def _left_shut(self, scene: Scene, thing_id: str) -> Iterator[Objection]:
        """What is shut in goes with what it is in, or that is opened first; not so elsewhere."""
        thing = scene.find(thing_id)
        body = thing is not None and thing.what is ThingKind.DECEDENT
        if isinstance(scene.resting(thing_id), AtPlace) and not body:
            for outer in scene.around(thing_id):
                if outer.id in self.things:
                    return
                yield from shut_in(thing_id, outer)


class AshesReceived(Act):
    """Cremated remains came back."""

    kind: Literal["ashes-received"] = "ashes-received"
    changes_presence: ClassVar[bool] = True
    giver: Slug
    place: Slug
    items: tuple[NewThing, ...] = Field(min_length=1, max_length=20)
    grams: tuple[Grams, ...] = Field((), description="one for each item, or none at all")
    identity_disc: Text | None = Field(None, description="as read from the disc")
    disc_agrees: bool | None = None

    def mentions(self) -> tuple[str, ...]:
        """The ashes."""
        return tuple(i.thing for i in self.items if i.thing)

    def places(self) -> tuple[str, ...]:
        """Where they were set down."""
        return (self.place,)

    def holders(self) -> tuple[str, ...]:
        """Who brought them."""
        return (self.giver,)

    def introduces(self) -> tuple[str, ...]:
        """The new things."""
        return tuple(i.thing for i in self.items if i.thing)

    def settle(self, scene: Scene) -> Self:
        """Number them."""
        return self.model_copy(update={"items": settle_new(self.items, scene)})

    def apply(self, case: Case, event: Event) -> None:
        """Enter them, as what the decedent became."""
        body = case.decedent
        for index, item in enumerate(self.items):
            thing = Thing(
                id=item.thing or "",
                what=item.what,
                description=item.description,
                came=event.moment,
                where=AtPlace(self.place),
                form=item.form,
                parents=(body.id,) if body and item.what is ThingKind.ASHES else (),
                moved=event.moment,
            )
            thing.disc_agrees = self.disc_agrees
            if index < len(self.grams):
                thing.weights.append(Weight(event.moment, self.grams[index]))
            case.add(thing)
        case.transfers.append(
            Transfer(
                event.moment,
                self.mentions(),
                self.giver,
                HERE,
                None,
                None,
                event.moment,
                event.number,
            )
        )

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """Ashes follow a cremation; weights are for all or for none."""
        yield from numbers_spent(scene, self.introduces())
        if self.grams and len(self.grams) != len(self.items):
            yield Objection(
                "weights-missing",
                f"{len(self.items)} items and {len(self.grams)} weights",
                "give one weight for each item, or none",
                findable=False,
            )
        if scene.case.disposed is None or scene.case.disposed[1] is not Disposition.CREMATION:
            yield Objection(
                "not-cremated",
                f"case {scene.case.number} is not recorded as cremated",
                "record the cremation first; if the ashes are here all the same, use --found",
            )


class Recalled(OnMany):
    """The coroner called the body, or things of the case, back."""

    kind: Literal["recalled"] = "recalled"
    taker: Slug
    authority: Text
    document: Digest | None = None
    accepted: bool = False

    def holders(self) -> tuple[str, ...]:
        """Who took it."""
        return (self.taker,)

    def apply(self, case: Case, event: Event) -> None:
        """It is with the coroner again."""
        give(case, event, self)
        body = case.decedent
        if body and body.id in self.things:
            case.recalled = event.moment
