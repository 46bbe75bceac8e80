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


def count(cases: Iterable[Case], place: str, seen: Collection[str]) -> Count:
    """Compare what was scanned at a place with what every case records there.

    Args:
        cases: all cases of the register.
        place: the place that was counted.
        seen: the numbers of the things scanned there.
    """
    expected: set[str] = set()
    uncounted: set[str] = set()
    for case in cases:
        for thing in case.at_place(place):
            if case.belongs(thing.id) and not thing.gone:
                expected.add(thing.id)
                if thing.id not in seen and _is_carried(case, thing, seen):
                    uncounted.add(thing.id)
    return Count(
        place,
        _ordered(seen),
        _ordered(expected - uncounted - set(seen)),
        _ordered(set(seen) - expected),
        _ordered(uncounted),
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
