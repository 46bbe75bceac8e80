"""Counting: everything at a place was scanned; what does the record say should be there?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from continuity.care.things import natural

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from continuity.care.case import Case, Thing


@dataclass(frozen=True, slots=True)
class Count:
    """A place counted. Things are in order of their numbers.

    Attributes:
        place: the place.
        seen: what was scanned there.
        missing: recorded there, and not scanned.
        unexpected: scanned there, and recorded elsewhere.
        uncounted: recorded there in something that is shut, which was scanned in its stead.
    """

    place: str
    seen: tuple[str, ...]
    missing: tuple[str, ...]
    unexpected: tuple[str, ...]
    uncounted: tuple[str, ...]

    @property
    def agrees(self) -> bool:
        """Whether the record and the place agree, as far as scans can tell."""
        return not self.missing and not self.unexpected


def count(cases: Iterable[Case], place: str, seen: Collection[str]) -> dict[str, Count]:
    """Compare what was scanned at a place with what the cases record there.

    Args:
        cases: those that may have something there, and those whose things were scanned.
        place: the place that was counted.
        seen: the numbers of the things scanned there.

    Returns:
        What was found of each case's things, by its number; nothing of a case that has none there.
    """
    found = {}
    for case in cases:
        mine = {thing for thing in seen if case.belongs(thing)}
        here = [t for t in case.at_place(place) if case.belongs(t.id)]
        expected = {thing.id for thing in here}
        carried = {t.id for t in here if t.id not in mine and _is_carried(case, t, seen)}
        if mine or expected:
            found[case.number] = Count(
                place,
                _ordered(mine),
                _ordered(expected - carried - mine),
                _ordered(mine - expected),
                _ordered(carried),
            )
    return found


def together(place: str, counts: Collection[Count]) -> Count:
    """The count of a whole place, from those of each case."""
    return Count(
        place,
        _ordered(thing for one in counts for thing in one.seen),
        _ordered(thing for one in counts for thing in one.missing),
        _ordered(thing for one in counts for thing in one.unexpected),
        _ordered(thing for one in counts for thing in one.uncounted),
    )


def _is_carried(case: Case, thing: Thing, seen: Collection[str]) -> bool:
    """Whether it is shut in what was scanned, or in what is shut in that, and so on."""
    for outer in case.containers_of(thing.id):
        if not outer.shut:
            return False
        if outer.id in seen:
            return True
    return False


def _ordered(things: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(set(things), key=natural))
