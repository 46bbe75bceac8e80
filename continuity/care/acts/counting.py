"""A place is counted: everything there is scanned, and compared with the record."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Literal

from pydantic import Field

from continuity.care.acts.base import Act, wrong_case
from continuity.care.records import Counted, Sight
from continuity.care.things import AtPlace, Slug, ThingId

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Case
    from continuity.care.records import Event
    from continuity.care.refusal import Objection
    from continuity.care.scene import Scene


class PlaceCounted(Act):
    """A place was counted; the entry names this case's things alone.

    A count of a place is as many entries as cases have something there, one in the chain of each:
    so it is proved complete with the case, and no case tells who else was in the house.
    """

    kind: Literal["place-counted"] = "place-counted"
    mirrored: ClassVar[bool] = False
    place: Slug
    seen: tuple[ThingId, ...] = Field((), description="what was scanned there")
    missing: tuple[ThingId, ...] = Field((), description="recorded there, and not found")
    unexpected: tuple[ThingId, ...] = Field((), description="found there, recorded elsewhere")
    uncounted: tuple[ThingId, ...] = Field((), description="shut in; carries no scan of its own")

    def mentions(self) -> tuple[str, ...]:
        """The things it speaks of, each once."""
        named = (*self.seen, *self.missing, *self.unexpected, *self.uncounted)
        return tuple(dict.fromkeys(named))

    def places(self) -> tuple[str, ...]:
        """The place counted."""
        return (self.place,)

    def apply(self, case: Case, event: Event) -> None:
        """Keep when the place was counted last, and what was found of each thing.

        A thing that it does not name, or names as shut in, nobody looked at: of that an earlier
        count's word stands.
        """
        case.counts[self.place] = event.moment
        for thing in self.seen:
            case.counted[thing] = Counted(event.moment, self.place, Sight.SEEN)
        for thing in self.missing:
            if thing in case.things and case.resting(thing) == AtPlace(self.place):
                case.counted[thing] = Counted(event.moment, self.place, Sight.MISSING)
        for thing in self.unexpected:
            case.counted[thing] = Counted(event.moment, self.place, Sight.UNEXPECTED)

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """Each thing must be this case's."""
        for thing in self.mentions():
            yield from wrong_case(scene, thing)
