"""Custody: who held what, when; where that chain has gaps, overlaps or one-sided hand-overs.

Every event is replayed, and each thing's holder is read before and after it. A change of holder
with no hand-over is a gap; a hand-over by somebody who did not hold the thing is one too. Minimum
record: who delivered, who received, when custody changed (ASTM E1492-05, 4.1.1; E1492-11).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from continuity.care.case import Case
from continuity.care.things import GONE, HERE, Unseen

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from continuity.care.case import Thing
    from continuity.care.policy import Policy
    from continuity.care.records import Event, Moment, Transfer


@dataclass(frozen=True, slots=True)
class Holding:
    """One holder's time with one thing; `until` is None while it lasts, `entry` began it."""

    thing: str
    holder: str
    since: Moment
    until: Moment | None
    entry: int

    def covers(self, moment: Moment) -> bool:
        """Whether the holder had it at that moment."""
        return self.since <= moment and (self.until is None or moment < self.until)


class Break(StrEnum):
    """What is wrong in a chain of custody."""

    GAP = "gap"
    OVERLAP = "overlap"


@dataclass(frozen=True, slots=True)
class Broken:
    """A place in a thing's chain of custody where two ends do not meet.

    Attributes:
        what: a gap, where nobody says how it came to the next; an overlap, where two had it.
        thing: the thing.
        before: who held it until then, by the record.
        after: who held it from then on.
        moment: when.
    """

    what: Break
    thing: str
    before: str
    after: str
    moment: Moment


@dataclass(frozen=True, slots=True)
class Custody:
    """Who held what, when, and where the chain is broken."""

    holdings: tuple[Holding, ...]
    broken: tuple[Broken, ...]

    def of(self, thing: str) -> tuple[Holding, ...]:
        """The holders of one thing, in order."""
        return tuple(h for h in self.holdings if h.thing == thing)


def custody(case: Case) -> Custody:
    """Replay a case and note each thing's holders."""
    replay = Case(case.id, case.number)
    holders: dict[str, tuple[str, Moment]] = {}
    holdings: list[Holding] = []
    broken: list[Broken] = []
    for event in case.events:
        transfers = len(replay.transfers)
        replay.apply(event)
        handed = replay.transfers[transfers:]
        for thing in _touched(replay, event):
            now = _holder(replay, thing)
            before = holders.get(thing.id)
            broken += _breaks(thing.id, before[0] if before else None, now, handed, event)
            if before and before[0] == now:
                continue
            if before:
                holdings.append(
                    Holding(thing.id, before[0], before[1], event.moment, before[1].number)
                )
                del holders[thing.id]
            if now is not None:
                holders[thing.id] = (now, event.moment)
    open_ends = (Holding(t, h, since, None, since.number) for t, (h, since) in holders.items())
    everything = sorted([*holdings, *open_ends], key=lambda h: (h.since, h.thing))
    return Custody(tuple(everything), tuple(broken))


def _touched(case: Case, event: Event) -> list[Thing]:
    """What the event names, and what lies in it, if it is of this case."""
    found: dict[str, Thing] = {}
    for thing_id in event.act.mentions():
        for thing in (case.things.get(thing_id), *case.all_contents(thing_id)):
            if thing is not None and case.belongs(thing.id):
                found[thing.id] = thing
    return list(found.values())


def _holder(case: Case, thing: Thing) -> str | None:
    """Who has it; nobody has what was never seen, or has left for good."""
    resting = case.resting(thing.id)
    return None if isinstance(resting, (*GONE, Unseen)) else case.holder(thing.id)


def _breaks(
    thing: str, before: str | None, now: str | None, handed: list[Transfer], event: Event
) -> Iterator[Broken]:
    transfer = next((t for t in handed if thing in t.things), None)
    if transfer is None and handed and before != now:
        transfer = handed[0]
    if transfer is not None and before is not None and before != transfer.giver:
        what = Break.OVERLAP if HERE in (transfer.giver, before) else Break.GAP
        yield Broken(what, thing, before, transfer.taker, event.moment)
    if transfer is None and before is not None and now is not None and before != now:
        yield Broken(Break.GAP, thing, before, now, event.moment)


def one_sided(case: Case) -> list[Transfer]:
    """Hand-overs that only one side signed."""
    return [t for t in case.transfers if t.accepted is None and t.things]


def signed_late(case: Case, policy: Policy) -> list[Transfer]:
    """Hand-overs signed for so long afterwards that nobody answered for the things between."""
    allowed = policy.span("custody-gap")
    return [t for t in case.transfers if t.accepted and t.accepted.at - t.moment.at > allowed]


def recorded_late(case: Case, policy: Policy) -> list[Event]:
    """Entries recorded long after what they tell of."""
    allowed = policy.span("late-entry")
    return [e for e in case.events if e.recorded_at - e.occurred_at > allowed]


def dated_ahead(case: Case, policy: Policy) -> list[Event]:
    """Entries that tell of what was still to come when they were recorded."""
    allowed = policy.span("ahead-of-clock")
    return [e for e in case.events if e.occurred_at - e.recorded_at > allowed]


def clock_went_back(case: Case, policy: Policy) -> list[Event]:
    """Entries recorded, by their clock, before an entry with a lower number."""
    allowed = policy.span("ahead-of-clock")
    latest: datetime | None = None
    found = []
    for event in sorted(case.events, key=lambda e: e.number):
        if event.origin in case.struck:
            continue  # read in a struck entry's place, under its number, recorded later
        if latest is not None and latest - event.recorded_at > allowed:
            found.append(event)
        latest = event.recorded_at if latest is None else max(latest, event.recorded_at)
    return found


def out_of_order(case: Case, policy: Policy) -> list[Event]:
    """Entries that tell of something earlier than an entry before them, and are not late."""
    late = {e.number for e in recorded_late(case, policy)}
    latest: datetime | None = None
    found = []
    for event in sorted(case.events, key=lambda e: e.number):
        if latest is not None and event.occurred_at < latest and event.number not in late:
            found.append(event)
        latest = event.occurred_at if latest is None else max(latest, event.occurred_at)
    return found
