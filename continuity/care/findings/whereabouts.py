"""Whereabouts: everything is in the coffin, has left lawfully, or is the next line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care.findings.accounts import Account
from continuity.care.findings.base import (
    Found,
    Look,
    correct,
    finding,
    instructing,
    name,
    names,
    position,
    returning,
    settle,
)
from continuity.care.records import Sight
from continuity.care.things import (
    HERE,
    TISSUE,
    AtPlace,
    Disposition,
    Intention,
    ThingKind,
    Unseen,
    WithHolder,
    natural,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Thing
    from continuity.care.records import Counted, Moment

_FOUND_LATER = "HTA reportable incidents: organ or tissue found after release"
_COUNT = "HTA good practice: daily audit of where everything is"


@finding("no-decedent", "common practice, no source", goes_on=True)
def no_decedent(look: Look) -> Iterator[Found]:
    """A case is open, and no decedent, or nothing of an unknown one, was received into it."""
    case = look.case
    awaited = look.body is None if not case.unidentified else not case.things
    if case.opened and awaited:
        yield look.found(
            f"no decedent was received into case {case.number}",
            "record the receipt (received)",
            shown_by=(case.opened,),
        )


@finding("disposition-undecided", "common practice, no source")
def disposition_undecided(look: Look) -> Iterator[Found]:
    """Nobody has said what the disposition is to be."""
    plan = look.case.planned
    if plan.disposition is Disposition.UNDECIDED if plan else look.own:
        yield look.found(
            "what is to become of the decedent is undecided",
            "record what was decided, and by whom (disposition-changed --case"
            f" {look.case.number} --disposition ... --authority ...)",
            shown_by=(plan.moment if plan else None,),
        )


@finding("recalled", "SI 2013/1629, reg 21: disposition only when the body is no longer needed")
def recalled(look: Look) -> Iterator[Found]:
    """The coroner has called the body back, and it has not returned."""
    body = look.body
    if body and look.case.recalled:
        yield look.found(
            f"{name(body)} was called back and is {position(look, body)}",
            f"wait for {body.id} to come back ({returning(body)})",
            body,
            shown_by=(look.case.recalled,),
        )


@finding("not-in-a-coffin", "common practice, no source")
def not_in_a_coffin(look: Look) -> Iterator[Found]:
    """The decedent is here and does not lie in a coffin."""
    body = look.body
    if body and look.accounts[body.id] is Account.HERE:
        yield look.found(
            f"{name(body)} lies in no coffin, and is {position(look, body)}",
            f"put {body.id} into its coffin (put-in)",
            body,
        )


def _out_of_place(look: Look) -> list[Thing]:
    """What is here and not in the coffin, save what other findings speak of."""
    return [
        t
        for t in look.standing(Account.HERE)
        if t.what not in (ThingKind.EFFECT, ThingKind.ASHES)
        and t is not look.body
        and not in_body(look, t)
        and not _packs_only(look, t)
    ]


def in_body(look: Look, thing: Thing) -> bool:
    """Whether it lies in the cavity, at any depth: then it is where the decedent is."""
    return look.body is not None and look.body in look.case.containers_of(thing.id)


def _packs_only(look: Look, thing: Thing) -> bool:
    """Whether it only holds things of the case: those are the lines, it is their place."""
    return thing.what is ThingKind.CONTAINER and any(
        look.case.belongs(t.id) for t in look.case.all_contents(thing.id)
    )


@finding("left-elsewhere", _FOUND_LATER, goes_on=True)
def left_elsewhere(look: Look) -> Iterator[Found]:
    """A thing of the case is here, and is not in the coffin."""
    for thing in () if look.left else _out_of_place(look):
        if not _sighted_for_closing(thing):
            yield _elsewhere(look, thing, "and not in the coffin")


@finding("taken-out-after-sighting", _FOUND_LATER, goes_on=True)
def taken_out_after_sighting(look: Look) -> Iterator[Found]:
    """A thing was sighted for the closing, and was moved out of the coffin afterwards."""
    for thing in () if look.left else _out_of_place(look):
        if _sighted_for_closing(thing):
            yield _elsewhere(look, thing, "moved there after it was sighted for the closing")


def _sighted_for_closing(thing: Thing) -> bool:
    return any(s.for_closing and thing.moved and s.moment < thing.moved for s in thing.sightings)


def _elsewhere(look: Look, thing: Thing, how: str) -> Found:
    if thing.what is ThingKind.DEVICE:
        mend = f"release {thing.id} on authority (released), or put it into the coffin (put-in)"
    else:
        mend = f"put {thing.id} into the coffin (put-in), or release it on authority (released)"
    return look.found(f"{name(thing)} is {position(look, thing)}, {how}", mend, thing)


@finding("left-behind", _FOUND_LATER, goes_on=True)
def left_behind(look: Look) -> Iterator[Found]:
    """The decedent has left, and a thing of the case is still here."""
    if not look.left:
        return
    former = look.standing(Account.FORMER_COFFIN)
    mislaid = (t for t in former if t.what is not ThingKind.CONTAINER)
    for thing in (*_out_of_place(look), *mislaid):
        since = look.case.disposed
        yield look.found(
            f"{name(thing)} is {position(look, thing)}, and the decedent has left without it",
            f"ask the family and the authority; release {thing.id} (released), or record its"
            " own disposition (disposed)",
            thing,
            shown_by=(thing.moved, since[0] if since else None),
        )


@finding("left-in-former-coffin", "common practice, no source", goes_on=True)
def left_in_former_coffin(look: Look) -> Iterator[Found]:
    """A thing of the case lies in a coffin that the decedent does not lie in."""
    for thing in () if look.left else look.standing(Account.FORMER_COFFIN):
        told = thing.what in (ThingKind.EFFECT, ThingKind.ASHES)
        if not told and not _packs_only(look, thing):
            yield look.found(
                f"{name(thing)} is {position(look, thing)}, a coffin the decedent does not lie in",
                f"take {thing.id} out and put it into the decedent's coffin (taken-out, put-in)",
                thing,
            )


@finding("not-signed-for", "ASTM E1492-05, 4.1.1: person receiving, date received", goes_on=True)
def not_signed_for(look: Look) -> Iterator[Found]:
    """A thing was handed over to somebody who has never signed for it."""
    for thing in sorted(look.case.things.values(), key=lambda t: natural(t.id)):
        if isinstance(thing.where, WithHolder) and not thing.where.accepted:
            along = [t for t in look.case.all_contents(thing.id) if look.case.belongs(t.id)]
            if not along and not look.case.belongs(thing.id):
                continue
            with_it = f", with {names(along)} in it," if along else ""
            yield look.found(
                f"{name(thing)}{with_it} was handed over to {thing.where.holder}, who has not"
                " signed for it",
                f"have {thing.where.holder} sign (hand-over-accepted --thing {thing.id}"
                f" --taker {thing.where.holder}), or get it back"
                f" ({returning(thing, thing.where.holder)})",
                thing,
                *along,
            )


@finding("with-a-holder", "HTA traceability standard T1(h): documented transport", goes_on=True)
def with_a_holder(look: Look) -> Iterator[Found]:
    """A thing is with somebody outside, and no instruction says that it may stay there."""
    for thing in look.standing(Account.OUTSIDE):
        resting = look.case.resting(thing.id)
        kept = thing.instruction or thing.retention
        unsigned = isinstance(resting, WithHolder) and not resting.accepted
        along = thing.intention in (Intention.WORN, Intention.GOES_ALONG) or in_body(look, thing)
        recalled = look.case.recalled and thing is look.body
        if kept or unsigned or along or recalled or _packs_only(look, thing):
            continue
        yield look.found(
            f"{name(thing)} is {position(look, thing)}",
            f"get {thing.id} back ({returning(thing, look.case.holder(thing.id))}), or record who"
            f" says that it stays ({instructing(thing)})",
            thing,
        )


@finding("disposition-not-recorded", "common practice, no source", goes_on=True)
def disposition_not_recorded(look: Look) -> Iterator[Found]:
    """The planned day has passed, the decedent is with a holder, and nothing says what was done."""
    body, plan = look.body, look.case.planned
    if not (body and plan and plan.day) or body.gone or look.case.holder(body.id) == HERE:
        return
    if f"{look.now:%Y-%m-%d}" > plan.day:
        yield look.found(
            f"{name(body)} is {position(look, body)}, the planned day has passed, and no"
            " disposition is recorded",
            "get the certificate and record the disposition (disposed)",
            body,
        )


@finding(
    "other-than-planned",
    "HTA reportable incidents: wrong body released or cremated",
    goes_on=True,
    past=True,
)
def other_than_planned(look: Look) -> Iterator[Found]:
    """The decedent reached another disposition than the one that was planned."""
    body, disposed, plan = look.body, look.case.disposed, look.case.planned
    if not (body and disposed and plan) or plan.disposition is Disposition.UNDECIDED:
        return
    if disposed[1] is not plan.disposition:
        yield look.found(
            f"{name(body)} reached {disposed[1].value}, and {plan.disposition.value} was planned",
            f"find out why, and {settle('other-than-planned')}; if it was written wrongly,"
            f" {correct(disposed[0], 'manner')}",
            body,
            shown_by=(plan.moment, disposed[0]),
        )


@finding("went-apart", _FOUND_LATER, goes_on=True)
def went_apart(look: Look) -> Iterator[Found]:
    """Remains went apart from the decedent, and nobody has said that they should."""
    for thing in look.standing(Account.RELEASED, Account.LEFT_ALONG, Account.DISPOSED):
        leaving = thing.leaving
        if leaving is None or thing.instruction is not None:
            continue
        scrapped = thing.what is ThingKind.ASHES and leaving.way == Disposition.LAWFUL_DISPOSAL
        if thing.what not in TISSUE and not scrapped:
            continue
        if not _went_with_body(look, leaving.moment):
            yield look.found(
                f"{name(thing)} went apart from the decedent ({leaving.way}), and no wish of the"
                " family is on record",
                f"ask the family, and record their wish for {thing.id} ({instructing(thing)})",
                thing,
                shown_by=(leaving.moment,),
            )


def _went_with_body(look: Look, when: Moment) -> bool:
    return look.case.disposed is not None and look.case.disposed[0] == when


@finding("known-by-number-only", "ASTM E1492-05, 4.1.1: every item is described", goes_on=True)
def known_by_number_only(look: Look) -> Iterator[Found]:
    """An entry names a thing of this case that no entry ever brought in."""
    for thing in look.own:
        if thing.receipt == "mentioned":
            yield look.found(
                f"{thing.id} is named in the record, and nothing says what it is",
                correct(thing.came),
                thing,
                shown_by=(thing.came,),
            )


@finding("in-what-was-never-seen", "common practice, no source", goes_on=True)
def in_what_was_never_seen(look: Look) -> Iterator[Found]:
    """A thing is recorded inside something that was never seen here."""
    for thing in look.standing(Account.IN_WHAT_IS_UNSEEN):
        yield look.found(
            f"{name(thing)} is recorded {position(look, thing)}, which was never seen here",
            f"say where {thing.id} is (sighted --place), or {correct(thing.moved or thing.came)}",
            thing,
        )


@finding("missing-at-count", _COUNT, goes_on=True)
def missing_at_count(look: Look) -> Iterator[Found]:
    """The last count that looked for a thing did not find it; nobody saw or moved it since."""
    for thing, count in _counted(look, Sight.MISSING):
        if thing.gone:
            continue
        yield look.found(
            f"{name(thing)} was not found at {count.place} when that place was counted",
            f"look for {thing.id} and scan it where it is (sighted --place)",
            thing,
            shown_by=(count.moment,),
        )


@finding("found-elsewhere-at-count", _COUNT, goes_on=True)
def found_elsewhere_at_count(look: Look) -> Iterator[Found]:
    """The last count that looked for a thing found it where the record does not have it."""
    for thing, count in _counted(look, Sight.UNEXPECTED):
        if look.case.resting(thing.id) != AtPlace(count.place):
            yield look.found(
                f"{name(thing)} was found at {count.place} when that place was counted, and is"
                f" recorded {position(look, thing)}",
                f"scan {thing.id} there, as found (sighted --place {count.place} --found)",
                thing,
                shown_by=(count.moment,),
            )


def _counted(look: Look, sight: Sight) -> Iterator[tuple[Thing, Counted]]:
    """The things that the last count to look for them so found, and nobody saw or moved since.

    What they lie in may have been moved meanwhile: that shows nobody what is in it.
    """
    for thing in look.own:
        count = look.case.counted.get(thing.id)
        if count is None or count.sight is not sight:
            continue
        moved = thing.moved is not None and thing.moved > count.moment
        if not moved and not any(s.moment > count.moment for s in thing.sightings):
            yield thing, count


@finding("place-not-counted", _COUNT)
def place_not_counted(look: Look) -> Iterator[Found]:
    """The place where the decedent lies was not counted within the policy's time, nor moved to."""
    body = look.body
    resting = look.case.resting(body.id) if body else Unseen()
    if not body or not isinstance(resting, AtPlace):
        return
    there = [(t.moved or t.came) for t in (body, *look.case.containers_of(body.id))]
    if resting.place in look.case.counts:
        there.append(look.case.counts[resting.place])
    since = max(there).at
    if look.now - since > look.span("place-count"):
        yield look.found(
            f"{resting.place}, where {name(body)} lies, was not counted lately",
            f"count {resting.place} (place-counted: continuity count {resting.place})",
            body,
        )


@finding("long-in-store", "HTA traceability T1(f), bodies long in store [from memory]")
def long_in_store(look: Look) -> Iterator[Found]:
    """The decedent has been here longer than the policy's number of days."""
    body = look.body
    if not body or not isinstance(look.case.resting(body.id), AtPlace):
        return
    days = (look.now - body.came.at).days
    if look.now - body.came.at > look.span("long-in-store"):
        yield look.found(
            f"{name(body)} has been here for {days} days",
            "ask the coroner and the family; record what was decided"
            f" (disposition-changed --case {look.case.number} --disposition ... --authority ...)",
            body,
            shown_by=(body.came,),
        )
