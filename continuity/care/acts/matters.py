"""What should not be so, what was written wrongly, and the check before the coffin is closed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, ClassVar, Literal, Self

from pydantic import Field, field_validator

from continuity.care.acts.base import Act, OnMany, wrong_case
from continuity.care.records import CheckSigned, Irregularity
from continuity.care.refusal import Objection
from continuity.care.things import Digest, PersonalField, Text, ThingId
from continuity.care.times import Time

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Case
    from continuity.care.records import Event
    from continuity.care.scene import Scene


class IrregularityRaised(OnMany):
    """Something is not as it should be; it stays open until a named person resolves it."""

    kind: Literal["irregularity-raised"] = "irregularity-raised"
    things: tuple[ThingId, ...] = ()
    what: Text
    about: tuple[Text, ...] = Field(
        (), description="codes of findings of the closing check that it speaks for"
    )
    photograph: Digest | None = None

    def apply(self, case: Case, event: Event) -> None:
        """It is open, under the number of this entry."""
        case.irregularities[event.number] = Irregularity(
            event.number, event.moment, ("raised",), self.things, self.what, about=self.about
        )

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """Anything of this case may be irregular."""
        for thing in self.things:
            yield from wrong_case(scene, thing)


class IrregularityResolved(Act):
    """A named person resolved an irregularity."""

    kind: Literal["irregularity-resolved"] = "irregularity-resolved"
    irregularity: int = Field(ge=0, description="the number of the entry that opened it")
    resolution: Text = Field(description="what was found and done")

    def apply(self, case: Case, event: Event) -> None:
        """It is settled."""
        matter = case.irregularities.get(self.irregularity)
        if matter is not None and matter.resolved is None:
            matter.resolved = event.moment
            matter.resolution = self.resolution
            matter.resolved_by = event.by

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """It must be open."""
        matter = scene.case.irregularities.get(self.irregularity)
        if matter is None or matter.resolved is not None:
            yield Objection(
                "not-open",
                f"no irregularity {self.irregularity} is open in case {scene.case.number}",
                "look at the case for the numbers of the open ones",
                findable=False,
            )


class Corrected(Act):
    """An entry was wrong. It stays legible; what is read instead stands here, or nothing."""

    kind: Literal["corrected"] = "corrected"
    changes_presence: ClassVar[bool] = True
    strikes: Digest = Field(description="the leaf hash of the struck entry")
    reason: Text
    instead: dict[str, Any] | None = Field(
        None, description="an act with its kind, to be read in the struck entry's place"
    )
    happened_at: Time | None = Field(None, description="if the struck entry's time was wrong")

    @field_validator("instead")
    @classmethod
    def _is_an_act(cls, instead: dict[str, Any] | None) -> dict[str, Any] | None:
        if instead is None:
            return None
        act = _read(instead)
        if isinstance(act, Corrected) or act.for_house:
            raise ValueError("an act of the case stands instead, not another correction")
        if act.personal:
            raise ValueError("personal details go into the correction's own personal")
        return {"kind": act.kind, **act.details()}

    def strikes_leaf(self) -> str | None:
        """The struck entry's."""
        return self.strikes

    def replacement(self) -> Act | None:
        """The act that is read in the struck entry's place, in every case this touches."""
        if self.instead is None:
            return None
        return _read(self.instead).model_copy(update={"in_cases": self.in_cases})

    def mentions(self) -> tuple[str, ...]:
        """What the act read instead mentions."""
        act = self.replacement()
        return act.mentions() if act else ()

    def introduces(self) -> tuple[str, ...]:
        """The things the act read instead brings in."""
        act = self.replacement()
        return act.introduces() if act else ()

    def settle(self, scene: Scene) -> Self:
        """Name the struck entry as every case knows it, and fill the act read instead in.

        Its new things take the struck entry's numbers, and its time holds where none is given.
        """
        struck = [e for e in scene.case.events if self.strikes in (e.leaf, e.mirrors)]
        if not struck:
            return self
        found = self.model_copy(update={"strikes": struck[0].origin})
        act = self.replacement()
        if act is None:
            return found
        fresh = tuple(thing for event in struck for thing in event.act.introduces())
        settled = act.settle(replace(scene, fresh=fresh))
        return found.model_copy(
            update={
                "instead": {"kind": act.kind, **settled.details()},
                "happened_at": self.happened_at or struck[0].occurred_at,
            }
        )

    def cases(self) -> tuple[str, ...]:
        """The cases that the act read instead names."""
        act = self.replacement()
        return act.cases() if act else ()

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """The struck entry must stand in this case, not yet struck."""
        if self.strikes not in {e.origin for e in scene.case.events}:
            yield Objection(
                "no-such-entry",
                f"case {scene.case.number} has no standing entry with this leaf",
                "look at the case for its entries",
                findable=False,
            )


def _read(fields: dict[str, Any]) -> Act:
    from continuity.care.entries import read_act  # noqa: PLC0415 - it knows every kind, this too

    return read_act(fields)


class ClosingCheckSigned(Act):
    """A director and a second person signed the closing check: clear, or over named findings."""

    kind: Literal["closing-check-signed"] = "closing-check-signed"
    coffin: ThingId | None = None
    over: tuple[Text, ...] = Field((), description="codes of the findings it is closed over")
    reason: Text | None = Field(None, description="needed when closed over findings")

    mirrored: ClassVar[bool] = False

    def mentions(self) -> tuple[str, ...]:
        """The coffin."""
        return (self.coffin,) if self.coffin else ()

    def apply(self, case: Case, event: Event) -> None:
        """Note the check."""
        case.checks.append(CheckSigned(event.moment, self.coffin, self.over, event.persons))

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """It must be clear, or name every finding that stops it, with a reason."""
        from continuity.care.closing import check  # noqa: PLC0415 - findings read acts

        house = scene.house
        verdict = check(scene.case, house.policy, scene.occurred_at, house=house)
        stops = {f.code for f in verdict.stops}
        missing = sorted(stops - set(self.over))
        if missing:
            yield Objection(
                "not-clear",
                f"the closing check of case {scene.case.number} finds {', '.join(missing)}",
                "mend what it lists; a director and a second person may close over it with a"
                " reason, naming each",
                findable=False,
            )
        extra = sorted(set(self.over) - stops)
        if extra:
            yield Objection(
                "no-such-finding",
                f"the closing check does not find {', '.join(extra)}",
                "name only findings that stop it now",
                findable=False,
            )
        if self.over and not self.reason:
            yield Objection(
                "no-reason",
                "closing over findings needs a reason",
                "say why in reason",
                findable=False,
            )


class DetailsErased(Act):
    """Personal details of the case were erased; their salted digests stay."""

    kind: Literal["personal-details-erased"] = "personal-details-erased"
    entries: tuple[int, ...] = Field((), description="numbers of the entries; none means all")
    fields: tuple[PersonalField, ...] = Field((), description="which details; none means all")
    ground: Text = Field(description="the legal ground, and who decided")

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """The entries named must be there."""
        last = max((e.number for e in (*scene.case.events, *scene.case.struck_events)), default=-1)
        for number in self.entries:
            if not 0 <= number <= last:
                yield Objection(
                    "no-such-entry",
                    f"case {scene.case.number} has no entry {number}; its last is {last}",
                    "name the entries by their numbers in the case, or none for all of them",
                    findable=False,
                )

    def apply(self, case: Case, event: Event) -> None:
        """Note which entries' details are gone."""
        for number in self.entries or tuple(e.number for e in case.events):
            case.erased[number] = self.ground
        del event
