"""What an act says of things: those it brings in, and what another case knew of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Self

from pydantic import BaseModel, ConfigDict, Field, PlainSerializer, PlainValidator, WithJsonSchema

from continuity.care.things import (
    AtPlace,
    Discarded,
    Disposed,
    Divided,
    Form,
    Inside,
    Intention,
    PartOf,
    Power,
    Released,
    Text,
    ThingId,
    ThingKind,
    Unseen,
    Whereabouts,
    WithHolder,
)

if TYPE_CHECKING:
    from continuity.care.case import Thing


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
    def of(cls, thing: Thing, now: Thing | None, *, came_after: bool = False) -> Self:
        """What the thing's own case knows of it now; nothing more, if it is on record no more.

        Args:
            thing: the thing, for what it is.
            now: the thing as it is now; None if it is on record no more.
            came_after: it came into what has left after that had left, and so did not leave with
                it; whoever learns of both at once could not see that.
        """
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
            left=None if now is None or came_after else Left.of(now),
            **({field: where} if field else {}),
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
