"""Lineage: what came apart is accounted for piece by piece, and nothing is thrown away."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care.acts.parts import can_be_one
from continuity.care.findings.accounts import Account
from continuity.care.findings.base import Found, Look, correct, finding, name, names, settle
from continuity.care.things import Discarded, Disposed, Divided, Inside, PartOf, Released, ThingKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Thing

_ALL_PIECES = "HTA traceability standard T1(g): blocks and slides are traceable [from memory]"
_LEFT = (Released, Disposed, Discarded, Divided)
_SLIT = "Dover mortuary, 2009: a labelled bag found empty with a slit in its side"


@finding("piece-without-record", _ALL_PIECES, goes_on=True)
def piece_without_record(look: Look) -> Iterator[Found]:
    """A thing was divided entirely, and one of its pieces is not on the record."""
    for thing in look.own:
        if isinstance(thing.where, Divided):
            lost = [piece for piece in thing.where.into if piece not in look.case.things]
            if lost or not thing.where.into:
                yield look.found(
                    f"{name(thing)} was divided, and the record has lost {', '.join(lost)}",
                    f"{correct(thing.moved or thing.came)}, so that every piece stands",
                    thing,
                )


@finding(
    "divided-into-packaging",
    "common practice, no source: a thing goes on in its pieces",
    goes_on=True,
)
def divided_into_packaging(look: Look) -> Iterator[Found]:
    """A thing was divided entirely into packaging: by the record it is nothing."""
    for thing in look.own:
        if not isinstance(thing.where, Divided) or thing.what is ThingKind.CONTAINER:
            continue
        pieces = [
            look.case.things[piece] for piece in thing.where.into if piece in look.case.things
        ]
        if pieces and all(piece.what is ThingKind.CONTAINER for piece in pieces):
            yield look.found(
                f"{name(thing)} was divided into {names(pieces)}, which is packaging",
                f"look where {thing.id} is, and {correct(thing.moved or thing.came, 'into')}",
                thing,
                *pieces,
            )


@finding(
    "wrongly-joined", "common practice, no source: tissue becomes one with tissue", goes_on=True
)
def wrongly_joined(look: Look) -> Iterator[Found]:
    """A thing is recorded as one with what had left, or what it cannot be one with."""
    for thing in look.own:
        whole = look.case.things.get(thing.where.thing) if isinstance(thing.where, PartOf) else None
        gone = (
            whole
            and isinstance(whole.where, _LEFT)
            and whole.moved
            and thing.moved
            and whole.moved < thing.moved
        )
        if whole and (gone or not can_be_one(thing, whole)):
            how = "which had left before" if gone else "which it cannot be"
            yield look.found(
                f"{name(thing)} is recorded as one with {name(whole)}, {how}",
                f"look where {thing.id} is, and {correct(thing.moved or thing.came)}",
                thing,
                whole,
            )


@finding("inside-itself", "common practice, no source", goes_on=True)
def inside_itself(look: Look) -> Iterator[Found]:
    """By the record a thing is inside itself, or one with itself: it is nowhere."""
    for thing in look.standing(Account.CIRCLE):
        if isinstance(thing.where, Inside | PartOf):
            yield look.found(
                f"{name(thing)} is recorded in {thing.where.thing}, and that leads in a circle: by"
                " the record it is nowhere",
                f"look where {thing.id} is, and {correct(thing.moved or thing.came)}",
                thing,
            )


def _look_for(held: list[Thing]) -> str:
    return (
        f"look for {', '.join(t.id for t in held)}; record each as found (sighted --place --found)"
    )


def _lost_in(
    look: Look, manner: type[Discarded | Divided | PartOf | Released | Disposed]
) -> Iterator[list[Thing]]:
    """Each container that is gone so, followed by what is recorded inside it still."""
    lost: dict[str, list[Thing]] = {}
    for thing in look.standing(Account.IN_WHAT_IS_GONE):
        outermost = look.case.containers_of(thing.id)[-1]
        if isinstance(outermost.where, manner):
            lost.setdefault(outermost.id, [outermost]).append(thing)
    yield from lost.values()


@finding("discarded-with-contents", _SLIT, goes_on=True)
def discarded_with_contents(look: Look) -> Iterator[Found]:
    """Packaging was thrown away, and what was in it was never recorded as taken out."""
    for packaging, *held in _lost_in(look, Discarded):
        yield look.found(
            f"{name(packaging)} was thrown away, and by the record it still held {names(held)}",
            _look_for(held),
            *held,
            packaging,
            shown_by=(packaging.moved,),
        )


@finding("in-what-is-no-more", "common practice, no source", goes_on=True)
def in_what_is_no_more(look: Look) -> Iterator[Found]:
    """A thing is recorded inside another that had left, was divided, or made one with another."""
    for manner in (Divided, PartOf, Released, Disposed):
        how = "had left" if manner in (Released, Disposed) else "is no more"
        for outer, *held in _lost_in(look, manner):
            yield look.found(
                f"{name(outer)} {how}, and by the record it still holds {names(held)}",
                _look_for(held),
                *held,
                outer,
                shown_by=(outer.moved,),
            )


@finding(
    "thrown-away", "common practice, no source: nothing of a person is discarded", goes_on=True
)
def thrown_away(look: Look) -> Iterator[Found]:
    """Something that is no packaging is recorded as thrown away."""
    for thing in look.standing(Account.DISCARDED):
        if thing.what is not ThingKind.CONTAINER:
            yield look.found(
                f"{name(thing)} is recorded as thrown away, and it is not packaging",
                f"look for {thing.id}; {correct(thing.moved or thing.came)}, or raise the matter"
                " (irregularity-raised)",
                thing,
            )


@finding(
    "left-and-found-here",
    "GS1 CBV 2.0: an event after destroying signals an error",
    goes_on=True,
    past=True,
)
def left_and_found_here(look: Look) -> Iterator[Found]:
    """A thing was released or disposed of, and is recorded here all the same."""
    here = (Account.HERE, Account.IN_COFFIN, Account.FORMER_COFFIN, Account.ANOTHERS)
    for thing in look.standing(*here):
        leaving = thing.leaving
        if leaving and not isinstance(thing.where, Released | Disposed):
            yield look.found(
                f"{name(thing)} had left ({leaving.way}), and is recorded here all the same",
                f"check the label; {correct(leaving.moment)} if it never left, or"
                f" {settle('left-and-found-here')}",
                thing,
                shown_by=(leaving.moment, thing.moved),
            )
