"""Care steps and weighings.

Formaldehyde is toxic, irritant and a carcinogen; unfixed tissue may carry infection. What is
recorded here never replaces the safety data sheet, local codes and licensed practice.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Literal, Self

from pydantic import Field, model_validator

from continuity.care.acts.base import OnOne
from continuity.care.records import Closure, Weight
from continuity.care.records import Step as Done
from continuity.care.refusal import Objection
from continuity.care.things import (
    REMAINS,
    AtPlace,
    Form,
    Grams,
    Inside,
    Millilitres,
    Slug,
    Text,
    ThingId,
    ThingKind,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Case
    from continuity.care.records import Event
    from continuity.care.scene import Scene


class Step(StrEnum):
    """The care steps of the trade."""

    RINSED = "rinsed"
    EMPTIED = "emptied"
    ASPIRATED = "aspirated"
    INJECTED = "injected"
    IMMERSED = "immersed"
    DRAINED = "drained"
    DRIED = "dried"
    POWDERED = "powdered"
    SUTURED = "sutured"
    EMBALMED = "embalmed"
    WASHED = "washed"
    DRESSED = "dressed"
    DISINFECTED = "disinfected"
    REPACKED = "repacked"
    DEVICE_REMOVED = "device-removed"


ON_THE_BODY = frozenset({Step.SUTURED, Step.EMBALMED, Step.DRESSED, Step.DEVICE_REMOVED})


class CaredFor(OnOne):
    """A care step was done on a thing."""

    kind: Literal["cared-for"] = "cared-for"
    step: Step
    product: Text | None = None
    lot: Text | None = None
    millilitres: Millilitres | None = None
    formaldehyde_tenths: Annotated[int, Field(ge=0, le=1000)] | None = Field(
        None, description="formaldehyde in tenths of a percent"
    )
    removed: ThingId | None = Field(None, description="for device-removed: the device")
    place: Slug | None = Field(None, description="for device-removed: where it was set down")

    @model_validator(mode="after")
    def _device(self) -> Self:
        if (self.step is Step.DEVICE_REMOVED) != (self.removed is not None):
            raise ValueError("device-removed names the removed device, and no other step does")
        if (self.removed is None) != (self.place is None):
            raise ValueError("say in place where the removed device was set down")
        return self

    def mentions(self) -> tuple[str, ...]:
        """The thing cared for, and a removed device."""
        return (self.thing, self.removed) if self.removed else (self.thing,)

    def places(self) -> tuple[str, ...]:
        """Where a removed device was set down."""
        return (self.place,) if self.place else ()

    def apply(self, case: Case, event: Event) -> None:
        """Note the step; a suture closes the body, a removed device lies outside.

        What is done on a tub or a bag is done on the remains that are in it.
        """
        thing = case.know(self.thing, event.moment)
        done = Done(
            event.moment,
            self.step.value,
            self.product,
            self.lot,
            self.millilitres,
            self.formaldehyde_tenths,
        )
        thing.steps.append(done)
        if thing.what is ThingKind.CONTAINER and thing.form is not Form.COFFIN:
            for content in case.all_contents(self.thing):
                if content.what in REMAINS:
                    content.steps.append(done)
        if self.step is Step.SUTURED:
            thing.closures.append(Closure(event.moment, shut=True, how="sutured"))
        if self.removed:
            device = case.know(self.removed, event.moment, ThingKind.DEVICE)
            device.move(AtPlace(self.place or ""), event.moment)

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """A step must fit the thing it is done on."""
        yield from super().objections(scene)
        thing = scene.find(self.thing)
        if thing and self.step in ON_THE_BODY and thing.what is not ThingKind.DECEDENT:
            yield Objection(
                "step-does-not-fit",
                f"{self.step.value} is done on the body, and {self.thing} is"
                f" {thing.what.value} ({thing.description})",
                "name the decedent",
                findable=False,
            )
        if thing and self.step is Step.DRAINED and not thing.step(Step.IMMERSED):
            yield Objection(
                "never-immersed",
                f"{self.thing} ({thing.description}) is not recorded as immersed",
                "record the immersion that was missed",
            )
        device = scene.find(self.removed) if self.removed else None
        if device and device.where != Inside(self.thing):
            yield Objection(
                "not-inside",
                f"{self.removed} is not recorded inside {self.thing}",
                "check the device; if it came out of there all the same, use --found",
            )


class Weighed(OnOne):
    """A thing was weighed, with whatever is in it."""

    kind: Literal["weighed"] = "weighed"
    grams: Grams

    def apply(self, case: Case, event: Event) -> None:
        """Note the weight."""
        case.know(self.thing, event.moment).weights.append(Weight(event.moment, self.grams))
