"""Custody and time: hand-overs with two sides, no gaps, and clocks that can be believed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care import custody
from continuity.care.custody import Break
from continuity.care.findings.accounts import is_shared
from continuity.care.findings.base import Found, Look, correct, finding, name, names, settle
from continuity.care.things import HERE, WithHolder

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from continuity.care.case import Thing
    from continuity.care.records import Event

_E1492 = "ASTM E1492-11: who has had custody, and when custody changed"
_CLOCK = "common practice, no source"


def _known(look: Look, thing: str) -> Thing | None:
    """A thing this case answers for; what happens to another's is told in that case."""
    answers = look.case.belongs(thing) or is_shared(look.case, thing, look.case.number)
    return look.case.things.get(thing) if answers else None


def _all_known(look: Look, things: Iterable[str]) -> list[Thing]:
    return [thing for thing in (_known(look, number) for number in things) if thing]


def _who(holder: str) -> str:
    return "the house" if holder == HERE else holder


@finding("one-sided-hand-over", _E1492, goes_on=True, past=True)
def one_sided_hand_over(look: Look) -> Iterator[Found]:
    """A hand-over was signed by one side only, as far as the record says."""
    for transfer in custody.one_sided(look.case):
        things = _all_known(look, transfer.things)
        still = [t for t in things if t.where == WithHolder(transfer.taker, accepted=False)]
        if not things or still:  # not-signed-for speaks of it while they are there
            continue
        side = transfer.giver if transfer.taker == HERE else transfer.taker
        signed = "giver_signed" if transfer.taker == HERE else "accepted"
        sentence = (
            f"nothing says that {side} signed for the hand-over of {names(things)}"
            if transfer.unstated
            else f"{side} did not sign for the hand-over of {names(things)}"
        )
        yield look.found(
            sentence,
            f"get the signature, and {correct(transfer.moment, signed)}, or"
            f" {settle('one-sided-hand-over')}",
            *things,
            shown_by=(transfer.moment,),
        )


@finding("custody-gap", _E1492, goes_on=True, past=True)
def custody_gap(look: Look) -> Iterator[Found]:
    """Nothing says how a thing came from one holder to the next, or who answered in between."""
    for broken in look.custody.broken:
        thing = _known(look, broken.thing)
        if thing and broken.what is Break.GAP:
            yield look.found(
                f"{name(thing)} was with {_who(broken.before)}, then with {_who(broken.after)},"
                " and nobody recorded the hand-over",
                "record the hand-over that was missed, at its own time (handed-over or returned,"
                " --occurred-at)",
                thing,
                shown_by=(broken.moment,),
            )
    for transfer in custody.signed_late(look.case, look.policy):
        things = _all_known(look, transfer.things)
        if not things:
            continue
        yield look.found(
            f"{_who(transfer.taker)} signed for {', '.join(transfer.things)} long after the"
            " hand-over, and nobody says who answered in between",
            f"ask both, and {settle('custody-gap')}",
            *things,
            shown_by=(transfer.moment, transfer.accepted),
        )


@finding("two-holders", _E1492, goes_on=True, past=True)
def two_holders(look: Look) -> Iterator[Found]:
    """By the record a thing was handed over by one who did not have it: two had it at once."""
    for broken in look.custody.broken:
        thing = _known(look, broken.thing)
        if thing and broken.what is Break.OVERLAP:
            yield look.found(
                f"{name(thing)} went to {_who(broken.after)} while it was recorded with"
                f" {_who(broken.before)}",
                "record the return that was missed, at its own time (returned --occurred-at), or"
                f" {correct(broken.moment)}",
                thing,
                shown_by=(broken.moment,),
            )


@finding("two-places-at-once", _E1492, goes_on=True, past=True)
def two_places_at_once(look: Look) -> Iterator[Found]:
    """A thing was sighted here while it was recorded with a holder outside."""
    for thing in look.own:
        away = [h for h in look.custody.of(thing.id) if h.holder != HERE]
        for sighting in thing.sightings:
            holding = next((h for h in away if h.covers(sighting.moment)), None)
            if holding:
                yield look.found(
                    f"{name(thing)} was sighted here while it was recorded with {holding.holder}",
                    "record the return that was missed, at its own time (returned --occurred-at),"
                    f" or {correct(sighting.moment)}",
                    thing,
                    shown_by=(holding.since, sighting.moment),
                )


def _entries(look: Look, events: list[Event], sentence: str, mend: str) -> Iterator[Found]:
    if events:
        numbers = ", ".join(str(event.number) for event in events)
        yield look.found(
            sentence.format(numbers), mend, shown_by=[event.moment for event in events]
        )


@finding("recorded-late", _CLOCK, goes_on=True)
def recorded_late(look: Look) -> Iterator[Found]:
    """Entries were recorded long after what they tell of."""
    yield from _entries(
        look,
        custody.recorded_late(look.case, look.policy),
        "recorded long after what they tell of: entries {}",
        "nothing mends this; record at the time, and know that these rest on memory",
    )


@finding("dated-ahead", _CLOCK, goes_on=True, past=True)
def dated_ahead(look: Look) -> Iterator[Found]:
    """Entries tell of what was still to come when they were recorded."""
    yield from _entries(
        look,
        custody.dated_ahead(look.case, look.policy),
        "dated later than they were recorded: entries {}",
        "set the station's clock, and correct the time of each (corrected --happened-at)",
    )


@finding("clock-went-back", _CLOCK, goes_on=True, past=True)
def clock_went_back(look: Look) -> Iterator[Found]:
    """Entries were recorded, by their own clock, before an entry that precedes them."""
    yield from _entries(
        look,
        custody.clock_went_back(look.case, look.policy),
        "recorded by a clock that had gone back: entries {}",
        f"set the station's clock, and {settle('clock-went-back')}",
    )


@finding("out-of-order", _CLOCK, goes_on=True)
def out_of_order(look: Look) -> Iterator[Found]:
    """Entries tell of something earlier than an entry before them, though not late."""
    yield from _entries(
        look,
        custody.out_of_order(look.case, look.policy),
        "recorded after something that happened later: entries {}",
        "nothing mends this; the case is read in the order of what happened",
    )


@finding("signed-outside-role", "common practice, no source", goes_on=True, past=True)
def signed_outside_role(look: Look) -> Iterator[Found]:
    """An entry was signed by nobody whose key ever gave a role that may record it."""
    house = look.house
    if house is None or not house.keys:
        return
    for event in look.case.events:
        rule = house.policy_at(event.recorded_at).act(event.act.kind)
        roles = {role.value for person in event.persons for role in house.ever_roles(person)}
        if not roles & set(rule.roles):
            yield look.found(
                f"entry {event.number} ({event.act.kind}) is for {' or '.join(rule.roles)}, and"
                f" {' and '.join(event.persons)} signed it",
                f"let somebody with that role look into it and {settle('signed-outside-role')}",
                shown_by=(event.moment,),
            )


@finding("signed-by-too-few", "common practice, no source", goes_on=True, past=True)
def signed_by_too_few(look: Look) -> Iterator[Found]:
    """An entry that needs several persons was signed by fewer."""
    for event in look.case.events:
        policy = look.house.policy_at(event.recorded_at) if look.house else look.policy
        needed = policy.act(event.act.kind).persons
        signed = len(set(event.persons))
        if signed < needed and event.act.kind != "identified":
            yield look.found(
                f"entry {event.number} ({event.act.kind}) needs {needed} persons, and {signed}"
                " signed it",
                f"let a second person look into it and {settle('signed-by-too-few')}",
                shown_by=(event.moment,),
            )
