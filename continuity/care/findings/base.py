"""What a finding is, and how a check is written down.

A check is one small function that looks at a case and yields what it found, under a stable code:

    @finding("left-elsewhere", "HTA incident: organ or part found after release")
    def left_elsewhere(look: Look) -> Iterator[Found]:
        '''A thing of the case is not in the coffin, and has not left on recorded authority.'''

The docstring is the finding's meaning in the published list; the second argument its source.
Whether it stops the closing is the policy's to say; a finding the policy does not list stops it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime, timedelta

    from continuity.care.case import Case, Thing
    from continuity.care.house import House
    from continuity.care.policy import Policy


@dataclass(frozen=True, slots=True)
class Neighbour:
    """Another decedent in care at the same time whose name is the same or similar."""

    case: str
    percent: int


@dataclass(frozen=True, slots=True)
class Look:
    """What a check may look at: the case, the policy, the hour, and names that are alike."""

    case: Case
    policy: Policy
    now: datetime
    house: House | None = None
    neighbours: tuple[Neighbour, ...] = ()

    def span(self, threshold: str) -> timedelta:
        """A threshold of the policy as a span of time."""
        return self.policy.span(threshold)


@dataclass(frozen=True, slots=True)
class Found:
    """What one check found, before the policy weighs it.

    Attributes:
        sentence: what is so, with the things named.
        mend: the act that would mend it.
        things: the things concerned.
        cases: other cases concerned.
        entries: numbers of the entries that show it.
    """

    sentence: str
    mend: str
    things: tuple[str, ...] = ()
    cases: tuple[str, ...] = ()
    entries: tuple[int, ...] = ()


class Check(Protocol):
    """A function that looks for one finding."""

    def __call__(self, look: Look, /) -> Iterator[Found]:
        """Yield each case of it."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A finding that exists: its code, what it means, where that comes from, who looks for it."""

    code: str
    meaning: str
    source: str
    check: Check


KINDS: dict[str, Kind] = {}
"""Every finding by its code, in the order of the reckoning."""


def finding(code: str, source: str) -> Callable[[Check], Check]:
    """Enter a check under its code."""

    def enter(check: Check) -> Check:
        if code in KINDS:
            raise ValueError(f"two checks for {code}")
        meaning = " ".join((check.__doc__ or "").split())
        KINDS[code] = Kind(code, meaning, source, check)
        return check

    return enter


def name(thing: Thing) -> str:
    """A thing in a sentence: number and description."""
    return f"{thing.id} ({thing.description})"
