"""Scene: all that a judgement may look at, across the cases that an act touches."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from continuity.care.nesting import inwards, lies_in, outwards, parts_of
from continuity.care.things import Inside, PartOf, case_of

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from continuity.care.case import Case, Thing
    from continuity.care.house import House
    from continuity.care.things import Whereabouts


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
        return outwards(self.find, thing)

    def wholes(self, thing: str) -> list[Thing]:
        """What a thing is in or one with, and so on outwards, each as its own case knows it."""
        return outwards(self.find, thing, (Inside, PartOf))

    def within(self, thing: str) -> list[Thing]:
        """What a thing holds at any depth, each container's contents as its own case knows them."""
        return inwards(self._held, thing)

    def parts(self, thing: str) -> list[Thing]:
        """What a thing holds, was made one with, or was divided into, at any depth."""
        return inwards(self._held_or_part, thing)

    def _held(self, outer: str) -> list[Thing]:
        return [t for t in self.owner(outer).things.values() if lies_in(t, outer)]

    def _held_or_part(self, outer: str) -> list[Thing]:
        return parts_of(self.find, self.owner(outer).things.values(), outer)

    def resting(self, thing: str) -> Whereabouts | None:
        """Where the outermost container of a thing is, or the thing itself; None if unknown."""
        chain = self.around(thing)
        outermost = chain[-1] if chain else self.find(thing)
        return outermost.where if outermost else None

    def shared(self, thing: str) -> bool:
        """Whether a recorded authority lets this case use another case's coffin."""
        number = self.case.number
        return any(s.coffin == thing and number in s.cases for s in self.case.shares)
