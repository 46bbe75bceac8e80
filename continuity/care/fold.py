"""Adding a case's entries up, with what their corrections strike and say instead.

The fold judges nothing. It accepts whatever stands written, in the order in which it happened,
so that a rule tightened later never makes an old register unreadable; `rules` judges before an
entry is written.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care.case import Case
from continuity.care.records import Event
from continuity.care.things import case_of, natural

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime


def standing(events: Iterable[Event]) -> tuple[list[Event], dict[str, int]]:
    """The events that hold after corrections, and which leaf each correction struck.

    A correction that was itself struck strikes nothing. Where it says what to read instead,
    that act stands in the struck entry's place, under its number and time; or under the
    correction's number, in the chain of a case that the struck entry did not touch.
    """
    chain = sorted(events, key=lambda e: e.number)
    struck: dict[str, int] = {}
    instead: dict[str, Event] = {}
    for event in reversed([event for event in chain if event.act.strikes_leaf()]):
        target = event.act.strikes_leaf()
        if event.origin not in struck and target not in struck:
            struck[target] = event.number
            instead[target] = event
    result = []
    for event in chain:
        correction = instead.get(event.origin)
        result += [event] if correction is None else _read_instead(event, correction)
    here = {event.origin for event in chain}
    for target, correction in instead.items():
        result += [] if target in here else _read_instead(correction, correction)
    return result, struck


def _read_instead(place: Event, correction: Event) -> list[Event]:
    """What a correction says is to be read, in the place of another event; or nothing."""
    act = correction.act.replacement()
    if act is None:
        return []
    return [
        Event(
            act=act,
            case=place.case,
            number=place.number,
            occurred_at=correction.act.happened_at or place.occurred_at,
            recorded_at=correction.recorded_at,
            by=correction.by,
            persons=correction.persons,
            leaf=place.leaf,
            mirrors=place.mirrors,
            utc_offset=place.utc_offset,
            corrected_by=correction.number,
        )
    ]


def fold(
    case_id: str,
    number: str,
    events: Iterable[Event],
    *,
    known_until: datetime | None = None,
    happened_until: datetime | None = None,
) -> Case:
    """Add a case's events up.

    Args:
        case_id: the case's identifier in the record.
        number: the case's human number.
        events: its chain, in any order.
        known_until: leave out what was recorded later: the case as the register knew it then.
        happened_until: leave out what happened later: what is known today about that moment.
    """
    events = list(events)
    known = [e for e in events if known_until is None or e.recorded_at <= known_until]
    held, struck = standing(known)
    happened = [e for e in held if happened_until is None or e.occurred_at <= happened_until]
    case = Case(case_id, number)
    case.struck = struck
    case.struck_events = tuple(e for e in known if e.origin in struck)
    for event in sorted(happened, key=lambda e: e.moment):
        case.apply(event)
    spent = (item for e in known for item in e.act.mentions() if case_of(item) == number)
    case.highest_item = max([case.highest_item, *(natural(item)[1] for item in spent)])
    return case
