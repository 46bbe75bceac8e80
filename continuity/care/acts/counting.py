"""A place is counted: everything there is scanned, and compared with the record."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Literal

from pydantic import Field

from continuity.care.acts.base import Act, wrong_case
from continuity.care.records import Counted
from continuity.care.things import Slug, ThingId

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
        """Keep the place's latest count."""
        case.counts[self.place] = Counted(
            event.moment, self.seen, self.missing, self.unexpected, self.uncounted
        )

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """Each thing must be this case's."""
        for thing in self.mentions():
            yield from wrong_case(scene, thing)
