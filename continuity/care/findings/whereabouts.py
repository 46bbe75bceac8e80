"""Whereabouts: everything is in the coffin, has left lawfully, or is the next line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care.findings.base import Found, Look, finding, name
from continuity.care.things import AtPlace, Form, Inside, ThingKind, Unseen, WithHolder

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Case, Thing


def in_coffin(case: Case, thing: Thing) -> bool:
    """Whether the thing is in the coffin the decedent is in, at any depth, or is that coffin."""
    coffin = case.coffin
    if coffin is None:
        return False
    return thing.id == coffin.id or coffin in case.containers_of(thing.id)


def to_be_placed(case: Case) -> list[Thing]:
    """What must be in the coffin: all that is here, except empty packaging."""
    return [
        t
        for t in case.own
        if not t.gone
        and isinstance(case.resting(t.id), AtPlace)
        and not (
            t.what is ThingKind.CONTAINER
            and not case.all_contents(t.id)
            and t.form is not Form.COFFIN
        )
    ]


@finding("not-in-a-coffin", "common practice, no source")
def not_in_a_coffin(look: Look) -> Iterator[Found]:
    """The decedent is here and does not lie in a coffin."""
    body = look.case.decedent
    if body and not body.gone and look.case.coffin is None:
        yield Found(
            f"{name(body)} lies in no coffin",
            f"put {body.id} into its coffin (put-in)",
            (body.id,),
            entries=(body.came.number,),
        )


@finding("left-elsewhere", "HTA reportable incidents: organ or tissue found after release")
def left_elsewhere(look: Look) -> Iterator[Found]:
    """A thing of the case is here, and is not in the coffin."""
    for thing in to_be_placed(look.case):
        if thing.what is ThingKind.DECEDENT or in_coffin(look.case, thing):
            continue
        where = thing.where
        place = f"in {where.thing}" if isinstance(where, Inside) else f"at {_place(look, thing)}"
        seen = thing.last_sighting
        when = f", last sighted {seen.moment.at:%Y-%m-%d %H:%M}Z" if seen else ", never sighted"
        yield Found(
            f"{name(thing)} is {place}{when}, not in the coffin",
            f"put {thing.id} into the coffin, or release it on authority",
            (thing.id,),
            entries=(thing.moved.number if thing.moved else thing.came.number,),
        )


def _place(look: Look, thing: Thing) -> str:
    resting = look.case.resting(thing.id)
    return resting.place if isinstance(resting, AtPlace) else "an unknown place"


@finding("with-a-holder", "common practice, no source")
def with_a_holder(look: Look) -> Iterator[Found]:
    """A thing of the case is with somebody outside, and no instruction says it may stay there."""
    for thing in look.case.own:
        resting = look.case.resting(thing.id)
        if not isinstance(resting, WithHolder) or thing.instruction or thing.retention:
            continue
        yield Found(
            f"{name(thing)} is with {resting.holder}",
            f"get {thing.id} back (returned), or record the instruction that it stays",
            (thing.id,),
            entries=(thing.moved.number if thing.moved else thing.came.number,),
        )


@finding("never-seen", "GS1 CBV 2.0: mismatch_quantity, an expected thing not found")
def never_seen(look: Look) -> Iterator[Found]:
    """A thing was declared and has never been seen here."""
    for thing in look.case.own:
        if isinstance(thing.where, Unseen):
            yield Found(
                f"{name(thing)} was declared and has not been seen",
                "ask the sender; record its receipt, or a correction if it was never sent",
                (thing.id,),
                entries=(thing.came.number,),
            )
