"""Containers are opened and sealed, packaging is discarded, labels are put on and voided."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Literal, Self

from pydantic import Field, StringConstraints

from continuity.care.acts.base import (
    Act,
    OnOne,
    numbers_spent,
    settle_new,
    wrong_case,
)
from continuity.care.case import Thing
from continuity.care.known import NewThing
from continuity.care.records import Closure, Label
from continuity.care.refusal import Objection
from continuity.care.things import (
    HOLDS_THINGS,
    AtPlace,
    Discarded,
    Slug,
    Text,
    ThingKind,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Case
    from continuity.care.records import Event
    from continuity.care.scene import Scene

LabelCode = Annotated[str, StringConstraints(pattern=r"^[0-9A-Z $%*+\-./:]{6,40}$")]
"""A label's code, in the characters of QR alphanumeric mode (ISO/IEC 18004)."""


class Provided(Act):
    """The firm provided containers of its own: a coffin, a clean bag, a net, a covered tub."""

    kind: Literal["provided"] = "provided"
    changes_presence: ClassVar[bool] = True
    place: Slug
    items: tuple[NewThing, ...] = Field(min_length=1, max_length=50)

    def mentions(self) -> tuple[str, ...]:
        """The containers."""
        return tuple(i.thing for i in self.items if i.thing)

    def places(self) -> tuple[str, ...]:
        """Where they stand."""
        return (self.place,)

    def introduces(self) -> tuple[str, ...]:
        """All of them are new."""
        return self.mentions()

    def settle(self, scene: Scene) -> Self:
        """Number them."""
        return self.model_copy(update={"items": settle_new(self.items, scene)})

    def apply(self, case: Case, event: Event) -> None:
        """Enter them, open and empty."""
        for item in self.items:
            case.add(
                Thing(
                    id=item.thing or "",
                    what=item.what,
                    description=item.description,
                    came=event.moment,
                    where=AtPlace(self.place),
                    form=item.form,
                    receipt="provided",
                    moved=event.moment,
                )
            )

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """A firm provides containers; whatever else there is came from somebody."""
        yield from numbers_spent(scene, self.introduces())
        for item in self.items:
            if item.what is not ThingKind.CONTAINER:
                yield Objection(
                    "not-a-container",
                    f"'{item.description}' is {item.what.value}, which no firm provides",
                    "record from whom it was received, or what it was separated from",
                    findable=False,
                )


class Opened(OnOne):
    """A closed container or the body was opened."""

    kind: Literal["opened"] = "opened"
    reason: Text
    seal_found: Text | None = Field(None, description="the seal's number as it was read")

    def apply(self, case: Case, event: Event) -> None:
        """It is open, and whoever opened it has looked in."""
        thing = case.know(self.thing, event.moment)
        thing.closures.append(Closure(event.moment, shut=False, how="opened", seal=self.seal_found))
        for content in case.contents(self.thing):
            content.inferred = False

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """Only what holds things can be opened."""
        yield from super().objections(scene)
        thing = scene.find(self.thing)
        if thing and thing.what not in HOLDS_THINGS:
            yield Objection(
                "holds-nothing",
                f"{self.thing} ({thing.description}) is neither a container nor the body",
                "name the container that was opened",
                findable=False,
            )
        if thing and thing.closures and not thing.shut:
            yield Objection(
                "already-open",
                f"{self.thing} ({thing.description}) is already recorded open",
                "record the sealing that was missed, or leave this out",
            )


class Sealed(OnOne):
    """A container was closed and sealed, or a net was tied."""

    kind: Literal["sealed"] = "sealed"
    seal: Text | None = Field(None, description="the seal's number; a tied net has none")

    def apply(self, case: Case, event: Event) -> None:
        """It is shut under this seal."""
        case.know(self.thing, event.moment).closures.append(
            Closure(event.moment, shut=True, how="sealed", seal=self.seal)
        )

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """A container, and open."""
        yield from super().objections(scene)
        thing = scene.find(self.thing)
        if thing and thing.what is not ThingKind.CONTAINER:
            yield Objection(
                "not-a-container",
                f"{self.thing} ({thing.description}) is not a container",
                "seal the container it is in; for the body, record the care step sutured",
                findable=False,
            )
        if thing and thing.shut:
            yield Objection(
                "already-closed",
                f"{self.thing} ({thing.description}) is already recorded closed",
                "record the opening that was missed, or leave this out",
            )


class PackagingDiscarded(OnOne):
    """Packaging was thrown away, recorded empty. Nothing that is of the person ever is."""

    kind: Literal["packaging-discarded"] = "packaging-discarded"
    changes_presence: ClassVar[bool] = True
    empty: bool = Field(description="somebody looked, and it was empty")

    def apply(self, case: Case, event: Event) -> None:
        """It is gone."""
        thing = case.know(self.thing, event.moment)
        thing.move(Discarded(), event.moment)

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """Only a container, and only an empty one."""
        yield from super().objections(scene)
        thing = scene.find(self.thing)
        if thing is None:
            return
        if thing.what is not ThingKind.CONTAINER:
            yield Objection(
                "never-discarded",
                f"{self.thing} ({thing.description}) is not packaging; nothing of a person is"
                " thrown out",
                "record where it goes instead",
                findable=False,
            )
        held = scene.owner(self.thing).contents(self.thing)
        if held:
            yield Objection(
                "not-empty",
                f"{self.thing} still holds {', '.join(t.id for t in held)} by the record",
                "record what was taken out, and where it went",
            )
        if not self.empty:
            yield Objection(
                "not-looked-into",
                f"nobody says that {self.thing} was empty",
                "look into it, then record empty",
                findable=False,
            )


class Labelled(OnOne):
    """A label was printed for a thing; an earlier print of it is void from here on."""

    kind: Literal["labelled"] = "labelled"
    code: LabelCode
    panels: tuple[Text, ...] = Field((), description="the hazard panels on it, by their codes")
    stock: Text | None = None

    def labels(self) -> tuple[str, str]:
        """The code, and what it stands for from here on."""
        return self.code, self.thing

    def apply(self, case: Case, event: Event) -> None:
        """This print is in force."""
        thing = case.know(self.thing, event.moment)
        thing.voided |= {label.code for label in thing.labels}
        thing.voided.discard(self.code)
        thing.labels.append(Label(event.moment, self.code, self.panels))

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """A label can be printed for whatever is of this case and still here or away."""
        yield from wrong_case(scene, self.thing)


class LabelVoided(OnOne):
    """A print of a label is void: it was superseded, spoiled or lost."""

    kind: Literal["label-voided"] = "label-voided"
    code: LabelCode
    reason: Text

    def apply(self, case: Case, event: Event) -> None:
        """It is void."""
        case.know(self.thing, event.moment).voided.add(self.code)

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """It must have been printed for this thing."""
        yield from wrong_case(scene, self.thing)
        thing = scene.find(self.thing)
        if thing and self.code not in {label.code for label in thing.labels}:
            yield Objection(
                "label-unknown",
                f"no label with this code was printed for {self.thing}",
                "check the code, or the thing's number",
                findable=False,
            )
